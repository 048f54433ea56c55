"""The picture of a letter: within the message, for those who asked for it, with words beside it."""

import email
import email.policy
import io
from dataclasses import replace

import pytest
from PIL import Image

from pipeline.base.letter import PICTURE
from pipeline.config.mail import Mail
from pipeline.config.recipients import Recipient
from pipeline.deliver.message import build_message
from pipeline.render.letter_parts import LetterBar, LetterView
from pipeline.render.letter_picture import picture, picture_alt

MAIL = Mail("Saltmarsh reports", "reports@saltmarsh.example")
READER = Recipient("lead@saltmarsh.example", "group", "", "Europe/London", has_images=True)
KEY = "0123456789abcdef"
BARS = (
    LetterBar("Umber Bay", "2.7%", "55 of 2,009", 100, 0),
    LetterBar('Fallow "Reach" <b>', "2.0%", "53 of 2,687", 74, 26),
)
VIEW = LetterView("News", "News.", "Lead.", bars_title="Most stopped cycles", bars=BARS)


@pytest.fixture
def built(make_letter, now_utc):
    def made(reader=READER, **more):
        letter = make_letter(**{"picture": picture(BARS), "picture_alt": picture_alt(VIEW)} | more)
        letter = replace(letter, html=letter.html.replace("</body>", f"{PICTURE}</body>"))
        assert PICTURE in letter.html
        message = build_message(letter, reader, MAIL, KEY, now_utc)
        return email.message_from_bytes(message.as_bytes(), policy=email.policy.default)

    return made


def test_the_picture_travels_within_the_letter_and_is_named_by_its_content_id(built):
    """Source: RFC 2387, multipart/related; RFC 2392, the cid of a part is its Content-ID."""
    read = built()
    assert [part.get_content_type() for part in read.walk()] == [
        "multipart/alternative", "text/plain", "multipart/related", "text/html", "image/png",
    ]  # fmt: skip
    html, shown = list(read.walk())[-2:]
    cid = shown["Content-ID"].strip("<>")
    assert f'<img src="cid:{cid}"' in html.get_content()
    assert shown.get_content_disposition() == "inline"
    assert Image.open(io.BytesIO(shown.get_content())).format == "PNG"


def test_who_sees_no_pictures_reads_the_same(built):
    html = next(part for part in built().walk() if part.get_content_type() == "text/html")
    alt = "Most stopped cycles. Umber Bay: 2.7%; Fallow &quot;Reach&quot; &lt;b&gt;: 2.0%"
    assert f'alt="{alt}"' in html.get_content()


@pytest.mark.parametrize("reader", [replace(READER, has_images=False), READER])
def test_without_a_wish_or_a_picture_the_letter_has_none_and_no_trace_of_one(built, reader):
    more = {} if not reader.has_images else {"picture": b"", "picture_alt": ""}
    read = built(reader, **more)
    kinds = [part.get_content_type() for part in read.walk()]
    assert kinds == ["multipart/alternative", "text/plain", "text/html"]
    html = list(read.walk())[-1].get_content()
    assert "<img" not in html and "<!--" not in html


def test_the_bars_are_as_long_as_their_shares():
    image = Image.open(io.BytesIO(picture(BARS))).convert("RGB")
    filled = [
        sum(image.getpixel((x, 16 + row * 104 + 60)) == (0x2F, 0x6D, 0x87) for x in range(1120))
        for row in range(2)
    ]
    assert filled[0] == pytest.approx(1088, abs=2)
    assert filled[1] / filled[0] == pytest.approx(0.74, abs=0.01)


def test_the_same_bars_are_the_same_bytes_and_few():
    assert picture(BARS) == picture(BARS)
    assert len(picture(BARS)) < 20_000


@pytest.mark.parametrize("name", ["潮の谷", "Fällow Straße"])
def test_a_name_that_the_font_cannot_write_is_a_number_and_stands_in_the_words(name):
    bars = (replace(BARS[0], name=name),)
    assert picture(bars) == picture((replace(BARS[0], name="1."),))
    assert f"{name}: 2.7%" in picture_alt(replace(VIEW, bars=bars))


def test_a_letter_without_bars_has_no_picture():
    assert picture_alt(replace(VIEW, bars=())) == ""
