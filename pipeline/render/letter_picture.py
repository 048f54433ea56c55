"""The bars of a letter as one small picture, for readers who asked for it.

The only module that imports PIL, which comes with an extra. The letter stands without the picture:
it shows nothing that the text and the bars of the letter do not say, and its alternative text says
all of it again.
"""

from io import BytesIO

from pipeline.base.errors import ConfigurationError
from pipeline.base.phrases import phrase
from pipeline.render.letter_parts import LetterBar, LetterView

WIDTH, ROW, MARGIN = 1120, 104, 16
"""In px, twice what is shown, so that it is sharp on a phone."""
_TEXT = 32
_GROUND, _INK, _FILLED, _EMPTY = "#fdfdfb", "#16212b", "#2f6d87", "#e6e6e0"


def picture_alt(view: LetterView) -> str:
    """What the picture shows, for those who do not see it; "" for a letter without bars."""
    told = "; ".join(phrase("number.pair", what=bar.name, said=bar.share) for bar in view.bars)
    return f"{view.bars_title}. {told}" if told else ""


def picture(bars: tuple[LetterBar, ...]) -> bytes:
    """The bars as a PNG; the same bars give the same bytes with one version of PIL.

    Raises ConfigurationError when PIL is not installed.
    """
    try:
        from PIL import Image, ImageDraw, ImageFont
    except ImportError as error:
        raise ConfigurationError(
            ["A picture in a letter needs what is not installed here: "
             "`pip install 'holdtime[images]'`; or leave out images = true."]
        ) from error  # fmt: skip
    image = Image.new("RGB", (WIDTH, ROW * len(bars) + MARGIN), _GROUND)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(_TEXT)
    right = WIDTH - MARGIN
    for place, bar in enumerate(bars):
        top = MARGIN + place * ROW
        draw.text((MARGIN, top), _drawn(bar.name, place), fill=_INK, font=font)
        share = bar.share.replace("\N{NO-BREAK SPACE}", " ")
        draw.text((right, top), share, fill=_INK, font=font, anchor="ra")
        end = MARGIN + (right - MARGIN) * bar.filled / (bar.filled + bar.empty)
        draw.rectangle((MARGIN, top + 48, right, top + 72), fill=_EMPTY)
        draw.rectangle((MARGIN, top + 48, round(end), top + 72), fill=_FILLED)
    data = BytesIO()
    image.save(data, "PNG", compress_level=9)
    return data.getvalue()


def _drawn(name: str, place: int) -> str:
    """The name, or its place in the letter where the font has no letters for it.

    The font that comes with PIL writes ASCII and no accents (13.0); one of the machine's would make
    other bytes on every machine.
    """
    return name if name.isascii() else f"{place + 1}."
