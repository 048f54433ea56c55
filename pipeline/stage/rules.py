"""Why staging holds a line back: a short table of rules, in sentences to act on."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """One reason; `what` has places for particulars, `do` says how to mend the line."""

    rule_id: str
    what: str
    do: str

    def message(self, **particulars: object) -> str:
        """The whole sentence for the person who has to mend it."""
        return f"{self.what.format(**particulars)} {self.do}"


FIELDS = Rule(
    "STG-01",
    "The line has {found} fields, the header has {expected}.",
    "A separator stands inside a text, or one is missing: put such texts in quotation marks.",
)
QUOTE = Rule(
    "STG-02",
    "A quotation mark opens a text and does not close it properly.",
    "Close it before the next separator, or take it away; inside a text write it twice.",
)
BYTES = Rule(
    "STG-03",
    "The line holds bytes that are not {encoding}.",
    "Export the file in that encoding, or declare in the feed the one it has.",
)
OBJECT = Rule(
    "STG-04",
    "The line is not one whole JSON object.",
    "It may have been cut short: export it again.",
)
UNKNOWN_LINE = Rule(
    "STG-05",
    "The line is no part of a report that the feed describes.",
    "If such lines belong to it, widen the feed's patterns; if not, take the line away.",
)
NO_FIELD = Rule(
    "STG-06",
    'The report has no line "{name}".',
    "It may have been cut short: print it again. If it can be missing, declare it optional.",
)
TWO_VALUES = Rule(
    "STG-07",
    'The report has "{name}" twice, with two values.',
    "Two reports may have run into one: check where the pattern says that a report begins.",
)
NUMBER = Rule(
    "STG-08",
    "Column {column}: not a number with the decimal mark {decimal} and {thousands}.",
    "Mend the number, or declare in the feed how numbers are written.",
)
WHOLE = Rule(
    "STG-09",
    "Column {column}: not a whole number.",
    "Mend the number, or declare in the feed how numbers are written.",
)
DURATION = Rule(
    "STG-10",
    "Column {column}: not a length of time written as {unit}.",
    "Mend it, or declare in the feed the unit that it has.",
)
INSTANT = Rule(
    "STG-11",
    "Column {column}: not a day and time written as {formats}, from 1900 to 2199.",
    "Mend it, or add to the feed the format that it has.",
)
DATE = Rule(
    "STG-12",
    "Column {column}: not a date written as {formats}, from 1900 to 2199.",
    "Mend it, or add to the feed the format that it has.",
)
WORD = Rule(
    "STG-13",
    "Column {column}: a word that the feed gives no meaning.",
    "Add it to the values of this column in the feed.",
)
ELEMENT = Rule(
    "STG-14",
    "The element of the array is not an object.",
    "Each record must be one object: mend the export.",
)
NO_MATCH = Rule(
    "STG-15",
    "The line does not match the pattern that the feed declares for its lines.",
    "If such lines hold no record, declare them with skip; if they do, widen the pattern.",
)
CUT_SHORT = Rule(
    "STG-16",
    'The line ends before column "{name}" begins.',
    "It may have been cut short: export it again. If it can be missing, declare it optional.",
)
DOUBTFUL = Rule(
    "STG-17",
    "Column {column}: clocks were changed then; this hour happened twice, or never, and the file "
    "does not show which is meant.",
    "Let the unit log the offset or UTC; or map cycle numbers, both times and the cycle's length.",
)
HEADER = Rule(
    "STG-18",
    "{fault}.",
    "The line stands beneath that header, so it is not known what its fields are.",
)
TORN = Rule(
    "STG-19",
    "The report has no line with which the feed says that a report ends.",
    "It may be torn: print it again, or change the pattern end of the feed.",
)
TWICE = Rule(
    "STG-20",
    'The object has "{name}" twice, with two values.',
    "It is not known which is meant: mend the export.",
)

RULES = (
    FIELDS,
    QUOTE,
    BYTES,
    OBJECT,
    UNKNOWN_LINE,
    NO_FIELD,
    TWO_VALUES,
    NUMBER,
    WHOLE,
    DURATION,
    INSTANT,
    DATE,
    WORD,
    ELEMENT,
    NO_MATCH,
    CUT_SHORT,
    DOUBTFUL,
    HEADER,
    TORN,
    TWICE,
)
