"""What stands on which page of the worksheet: sections in the order of the bench, their words, the paths they ask for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planestock.exports.worksheet.rows import declarations
from planestock.params.reading import LengthUnit
from planestock.params.tools import TOOLS as TOOL_LIMITS
from planestock.params.tools import spoken
from planestock.params.wanted import Instrument


@dataclass(frozen=True)
class Part:
    """A piece of a section: words, a picture, and the fields whose paths begin with one of `fields`.

    kind: "rows" to measure (value and ±), "choices" with their defaults, or "table" with one line of boxes to each item.
    items: paths of the lines of a table, `[]` for a list. beside: words to the right of the picture.
    """

    kind: str
    fields: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
    title: str = ""
    words: tuple[str, ...] = ()
    picture: str = ""
    beside: tuple[str, ...] = ()


@dataclass(frozen=True)
class Section:
    """One section; it begins a new page."""

    title: str
    words: tuple[str, ...]
    parts: tuple[Part, ...]


CLAMP = "Clamp the metal before you lean a gauge on it; cast iron breaks when it falls."
"""The one caution that belongs to measuring alone."""

COVER_WORDS = (
    (
        "This form leads from the metal on the bench to a complete parameter set. Follow the pages in their "
        "order. Each number in a picture is that of a row below it; the small path in the corner of a box "
        "says where its value goes when you type it in (last page). A box with a thick left edge has to be "
        "filled in, unless the plane has no such part at all."
    ),
)

FILLED_WORDS = "It is filled in with a set. A ± in brackets is not the reading's own, but that of its tool on this page."


def limits_words(units: LengthUnit) -> str:
    """Return what the boxes for the ± of each tool are, and what is usual, in the form's unit."""
    place = 1 if units == "in" else 0
    usual = ", ".join(f"{limits.usual[place].replace(' deg', '°')} {spoken(tool)}" for tool, limits in TOOL_LIMITS.items())
    return f"The ± of what is read with each tool, where none is written beside the reading. Usual: {usual}."


TOOLS = (
    "{tools}; a straight edge, a stiff card and a scriber for the corner D; a screwdriver that fits. The "
    "figure after the tool in each row says how fine to read; finer is never wrong."
)

READING = (
    "Wipe the place clean. Rust, oil and paint under the jaws are part of the reading.",
    "Close the tool and see that it reads zero; write down by how much it does not.",
    (
        "Read, lift the tool off, set it up afresh and read again. A box with three compartments takes three "
        "readings, each as it was read; they are not averaged by hand. The thickness of the body hangs on "
        "those."
    ),
    (
        "The ± is how far one reading could be off at the most: what the tool can tell apart, and how surely you can "
        "set it up. How far repeated readings lie apart is reckoned with besides. An empty ± box stands for that "
        "of its tool on this page."
    ),
    (
        "Places measured from the corner D have a sign: up the bed and towards the heel +, down the bed and "
        "towards the toe\u00a0−."
    ),
    (
        "Write lengths as they are on the tool: a decimal with a point, or inches as 1-5/8. Another unit than"
        " the one above needs its name beside the number."
    ),
)

FINDING_D = (
    (
        "The corner D is where the bed meets the seat plane: the line of the frog's face and the line of the "
        "casting's underside. It usually lies in the air. It is the datum for everything on frog and casting,"
        " so mark it once and well:"
    ),
    "1. Clean the frog's face and the casting's underside.",
    "2. Clamp a stiff card or a piece of tin flat against the side of the metal, reaching below it.",
    "3. Lay a straight edge along the casting's underside and scribe its line on the card.",
    "4. Lay it on the frog's face, where the iron lies, and scribe that line too.",
    (
        "5. Where the lines cross is D. Square a knife mark from it up to the casting's side, so that you "
        "find it again when the card is off."
    ),
)

EXAMPLE = """\
name = "Grandfather's jack"
units = "mm"

[iron]
width = 51.0
thickness = "2.10 ± 0.02"

[cap_iron]
slot_to_edge = [92.3, 92.4, 92.4]

[frog]
screws = [
  { along = -16, across = 12, diameter = 3, depth = 18 },
]

[body]
thickness = "from window"
"""
"""Lines of a set, invented, in every way that a value can be written; each is valid."""

TYPING = {
    "title": "Typing it in",
    "steps": (
        (
            "`planestock new NAME --empty` writes a file `NAME.toml` with a line for every box of this form. Open"
            " it in any text editor."
        ),
        (
            "The path beside each box says where its value goes: what stands before the last dot is a heading in "
            "square brackets, what stands after it is the name on the left of the equals sign. A number in a path"
            " counts the items of a list from 0."
        ),
        (
            "Take away the `#` before each line that you fill in, and before the heading of its group. Where a "
            "box stayed empty, delete the line: values that stand in the file already are those of an invented "
            "plane."
        ),
        (
            "`planestock check NAME.toml` reads it. It names each field that is missing or contradicts another, "
            "says whether a body fits the metal, and which reading is most worth taking again."
        ),
        "`planestock worksheet NAME.toml` prints this form filled in; lay it beside the one in your hand and compare.",
        "`planestock build NAME.toml` writes the new body once nothing fails.",
    ),
    "example-title": "An example, invented",
    "example": EXAMPLE,
    "slips-title": "Before you type, look again",
    "slips": (
        "Adjuster, bench method, or both are filled in; with the adjuster also the distance from slot to edge.",
        (
            "All the way out, the pin is nearer to the sole and the edge deeper: the low pin is the smaller "
            "number, the edge with the adjuster out the larger one."
        ),
        "The foot's low end is the smaller number; most often both ends are negative.",
        "The casting's front end is negative, its rear end positive.",
        "The hump, measured from the iron's flat face, is more than the cap iron's thickness.",
        "Values with ± and words stand in quotes; bare numbers do not. Repeated readings stand in square brackets.",
    ),
}

SECTIONS = (
    Section(
        "Iron and cap iron",
        (
            (
                "Take the iron out and the cap iron off. Measure each alone, then screw the cap iron on as it is set "
                "for use and take the setback and the hump."
            ),
        ),
        (Part("rows", ("iron.", "cap_iron."), picture="iron"),),
    ),
    Section(
        "The corner D, and the adjuster",
        (),
        (
            Part("words", picture="corner", beside=FINDING_D),
            Part(
                "rows",
                ("adjuster.",),
                title="Adjuster",
                words=(
                    (
                        "Metal bolted together, iron out. Measure along the frog's face from D to the side of the pin "
                        "that pushes the cap iron, at both ends of the travel. Pushing and pulling use opposite walls of "
                        "the cap iron's slot, so take the play with the iron in. Leave these empty if you use only the "
                        "bench method."
                    ),
                ),
                picture="adjuster",
            ),
        ),
    ),
    Section(
        "Frog",
        (
            (
                "The frog's face and the wooden bed are one plane; its foot sits in a recess cut in the bed. Below D "
                "is negative."
            ),
        ),
        (
            Part("rows", ("frog.",), picture="frog"),
            Part(
                "table",
                ("frog.screws[].",),
                ("frog.screws[]",),
                title="Frog screws",
                words=(
                    (
                        "One line for each screw, or for each pair left and right: then half their distance across. "
                        "Diameter and depth are of the hole in the wood; a straight wire through the frog's hole shows "
                        "how it leans."
                    ),
                ),
            ),
        ),
    ),
    Section(
        "Bench method, and the casting from the side",
        (),
        (
            Part(
                "rows",
                ("bench.",),
                title="Bench method",
                words=(
                    (
                        "The better way to the thickness: no angle goes into it. Bolt casting, frog, adjuster, iron and cap "
                        "iron together without the wood, set for use. Lay a straight edge along the casting's underside and "
                        "measure from it square down to the edge, the iron pushed all the way out by the adjuster, then "
                        "pulled all the way back by it. With the adjuster's readings too, each checks the other."
                    ),
                ),
                picture="bench",
            ),
            Part(
                "table",
                ("bench.iron_thickness", "bench.setback"),
                ("bench",),
            ),
            Part(
                "rows",
                ("casting.thickness", "casting.let_in", "casting.cove_radius", "casting.tail_drop", "casting.tail_length"),
                title="Casting, from the side",
                picture="casting side",
            ),
        ),
    ),
    Section(
        "Casting, from above",
        (
            (
                "Lay the casting on paper, trace it, and mark D on the tracing. Measure along the underside from D; "
                "towards the toe is negative. A waist or uneven ends, which these readings cannot say, are traced: scan the "
                "casting, find its outline with planestock trace, and give that file as casting.outline_file beside them."
            ),
        ),
        (
            Part("rows", ("casting.",), picture="casting plan"),
            Part(
                "table",
                ("casting.screws[].",),
                ("casting.screws[]",),
                title="Casting screws",
                picture="casting screw",
                beside=(
                    (
                        "One line for each screw through the casting, or for each pair left and right: then half their "
                        "distance across. The length is that of the screw you will use, its head flush with the "
                        "casting's top."
                    ),
                ),
            ),
        ),
    ),
    Section(
        "Tote and knob",
        ("Leave a whole group empty where the plane has no such handle. Holes are those to drill in the wood.",),
        (
            Part("rows", ("tote.",), picture="handles"),
            Part("rows", ("knob.",), title="Knob"),
        ),
    ),
    Section(
        "The old body, and the work wanted",
        (),
        (
            Part(
                "rows",
                ("old_body.",),
                title="Old body",
                words=("Evidence only: where it and the metal disagree, the metal wins. Leave empty what is gone.",),
                picture="old body",
            ),
            Part(
                "table",
                ("old_body.iron_thickness", "old_body.setback", "old_body.length", "old_body.toe_to_mouth"),
                ("old_body",),
            ),
            Part(
                "choices",
                ("work.",),
                title="Work",
                words=("What the plane is to do, and how near you dare to go. An empty box takes the value beside it.",),
            ),
        ),
    ),
    Section(
        "The new body",
        ("What you want. An empty box takes the value beside it.",),
        (
            Part("choices", ("body.",), picture="body"),
            Part("table", ("body.dowels.",), ("body.dowels",), title="Dowels between the halves"),
        ),
    ),
    Section(
        "Throat and wood",
        (),
        (
            Part("choices", ("throat.",), title="Throat", picture="throat"),
            Part("choices", ("wood.",), title="Wood"),
            Part(
                "table",
                ("wood.dry.", "wood.wet.", "wood.worked."),
                ("wood.dry", "wood.wet", "wood.worked"),
                title="Seasons",
                words=(
                    (
                        "For each, temperature and humidity of the air the plane stands in for weeks, or the wood's "
                        "moisture content; not both."
                    ),
                ),
            ),
        ),
    ),
    Section(
        "Shop",
        (),
        (
            Part("choices", ("shop.",), title="Shop"),
            Part("table", ("shop.printer.",), ("shop.printer",), title="Printer for test pieces"),
            Part("table", ("shop.filament.",), ("shop.filament",), title="Filament"),
            Part("table", ("shop.cutter.",), ("shop.cutter",), title="Cutter"),
        ),
    ),
    Section("From the form to a set", (), (Part("typing"),)),
)

COVER = ("name", "note", "units", *(f"instrument.{name}" for name in Instrument.model_fields))
"""Fields on the first page."""


def paths_by_part(sections: tuple[Section, ...] = SECTIONS) -> dict[tuple[int, int], list[str]]:
    """Return the declared paths of each part, by section and part number; the longest matching beginning decides.

    A field that no part asks for goes to the last part that shows choices, so that a new declaration is never lost.
    """
    beginnings = {
        beginning: (s, p)
        for s, section in enumerate(sections)
        for p, part in enumerate(section.parts)
        for beginning in part.fields
    }
    places = [(s, p) for s, section in enumerate(sections) for p, part in enumerate(section.parts) if part.kind == "choices"]
    found: dict[tuple[int, int], list[str]] = {
        (s, p): [] for s, section in enumerate(sections) for p in range(len(section.parts))
    }
    for path in declarations():
        if path not in COVER:
            fitting = [beginning for beginning in beginnings if path.startswith(beginning)]
            found[beginnings[max(fitting, key=len)] if fitting else places[-1]].append(path)
    return found


def tools() -> Iterator[str]:
    """Yield each tool that a measured field asks for, once, in the order of the bench."""
    seen = set()
    for each in declarations().values():
        if each.quantity is not None and each.quantity.measured and each.quantity.tool not in seen:
            seen.add(each.quantity.tool)
            yield spoken(each.quantity.tool)
