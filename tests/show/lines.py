"""Files for the commands to read, and random command lines, drawn from what commands declare."""

from PIL import Image

import mixlab
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.show.cli import commands
from mixlab.show.cli.options import WRITTEN

COMMANDS = commands.commands

_MIXES = ["PB29", "1 PB29 + 4 PW6", "2 burnt-sienna + 1 ultramarine-blue", "titanium-white"]
_COLOURS = ["45,15,20", "#8a5a3c", "7.5YR 4/6", "60,-5,8", "N 3", "burnt-umber"]
_PAINTS = ["PW6", "burnt-sienna", "PB29", "viridian"]
_PLACES = ["3,3", "10,8", "1,1,6,6"]
GOOD = {
    "palette": ["few.toml"], "against": ["few.toml"], "mix": _MIXES,
    "toward": _MIXES, "to_mix": _MIXES, "mixes": _MIXES, "colour": _COLOURS, "to": _COLOURS,
    "lab": ["45,15,20", "60,5,-30"], "lch": ["45,15,20"], "hex": ["8a5a3c"], "swatch": _COLOURS,
    "munsell": ["7.5YR 4/6"], "over": _MIXES, "horizon": ["80,0,-5", "N 8"], "ground": _COLOURS,
    "match": _COLOURS, "spectrum": ["curve.csv"], "targets": ["targets.csv"],
    "places": ["places.csv", "named.csv"], "at": _PLACES, "grey": ["3,3", *_MIXES],
    "scene": ["2,9"], "key": ["fit", "none", "5"], "with_": _PAINTS, "without": _PAINTS,
    "required": _PAINTS, "excluded": _PAINTS, "white": ["PW6"], "black": ["bone-black"],
    "compare": _PAINTS, "fixed": ["burnt-sienna"], "out_of_reach": ["value", "nearest"],
    "light": ["D65", "A", "studio"], "under": ["A", "FL11"], "observer": ["2", "10"],
    "finish": ["gloss", "matt"], "even": ["value", "parts", "difference"], "hue": ["5YR"],
    "table": ["own.csv"], "draw": ["slices", "coverage"], "standard": ["colorchecker"],
    "photo": ["picture.png"], "file": ["picture.png"], "readings": ["readings.csv"],
    "check": ["own.csv", "few.toml"], "paint": _PAINTS, "id": ["my-own", "kiln-blue"],
    "strength": ["half", "0.5"], "name": ["Mine"], "steps": ["3", "5", "even"],
    "values": ["3", "4"], "masses": ["3", "5"], "colours": ["2", "3"], "tubes": ["2", "3"],
    "parts": ["6", "12"], "tolerance": ["2"], "panel": ["30x40"], "thickness": ["usual"],
    "share": ["90"], "jobs": ["1"], "sets": ["2"], "time_limit": ["0.2"], "tint": ["9"],
    "coats": ["1", "0.5..2"], "fractions": ["0,0.5,1"], "tube": ["burnt-sienna=PBr7"],
    "samples": ["samples.csv"], "far": ["1"], "kinds": ["2"],
    "out": ["out.csv", "own.csv", "out.html"], "csv": ["rows.csv"], "save": ["saved.json"],
    "plot": ["drawn.png", "drawn.svg"], "mark": ["marked.png"], "pattern": ["pattern.png"],
    "preview": ["preview.png"],
}  # fmt: skip
"""Words that make sense for an argument or option, by its name."""

BAD = [
    "", "nan", "-1", "0", "1e999", "5e-324", "99999999999999999999", "x" * 300, "two\nlines",
    "\x1b[31mred", "\u202eback", "=1+1", "--", "nowhere/file.csv", ".", "broken.csv", "notes.png",
    "loop.csv", "1,2", "1e308,0,0", "💥", "/dev/null/x.png", "1 PB29 +", "1e-320 PB29 + 1 PW6",
    "1 \x00",
]  # fmt: skip
"""Words that make none for most."""

_FIGURES = {"-1", "0", "1e999", "5e-324", "99999999999999999999"}
_PLACE = {"1,2"}
TAKEN = {
    "name": BAD, "id": {*_FIGURES, "nan", "x" * 300}, "grey": _PLACE, "scene": _PLACE,
    "at": _FIGURES | _PLACE, "coats": _FIGURES | _PLACE, "fractions": _FIGURES,
    "strength": _FIGURES,
}  # fmt: skip
"""Those of them that make sense to some options."""

_NO_FILE = {"", "x" * 300, "nowhere/file.csv", ".", "loop.csv", "/dev/null/x.png", "1 \x00"}


def wrong_words(one):
    """Return those of the bad words that an argument or option never takes, whatever else is asked.

    A file to write may have nearly any name, and a figure may be as small or great as the command
    likes; all else refuses all of them.
    """
    if one.name in WRITTEN:
        return [word for word in BAD if word in _NO_FILE]
    if one.bare_type() in ("int", "float"):
        return [word for word in BAD if word not in _FIGURES]
    argument = one.param_type_name == "argument"  # of which "--" is none
    return [word for word in BAD if word not in TAKEN.get(one.name, ())
            and not (argument and word == "--")]  # fmt: skip


def prepare(folder):
    """Write what the commands may read, right and wrong, into an empty folder."""
    table = mixlab.read_table()
    few = ("titanium-white", "burnt-sienna", "ultramarine-blue", "yellow-ochre")
    mixlab.write_table([table[id] for id in few], folder / "own.csv")
    (folder / "few.toml").write_text(f"paints = {list(few)}\n")
    picture = Image.new("RGB", (24, 18), (150, 130, 110))
    for x in range(24):
        for y in range(18):
            if x > 9 or y < 6:
                picture.putpixel((x, y), (60 + 5 * x, 100 + 4 * y, 90 + 3 * x) if y > 5 else
                                 (170, 190, 200 + y))  # fmt: skip
    picture.save(folder / "picture.png")
    header = ",".join(f"{w:.0f}" for w in WAVELENGTHS)
    lines = [f"sample,mixture,surface,{header}"]
    for name, typed in (("a", "1 titanium-white"), ("b", "1 burnt-sienna"),
                        ("c", "1 burnt-sienna + 4 titanium-white"),
                        ("d", "1 burnt-sienna + 20 titanium-white")):  # fmt: skip
        curve = table.mix(typed, mixlab.viewing(finish="matt")).reflectance
        lines.append(f"{name},{typed},opaque," + ",".join(f"{r:.4f}" for r in curve))
    (folder / "readings.csv").write_text("\n".join(lines) + "\n")
    (folder / "samples.csv").write_text("sample,mixture\na,1 titanium-white\nb,1 burnt-sienna\n")
    (folder / "curve.csv").write_text("".join(f"{w:.0f},0.3\n" for w in WAVELENGTHS))
    (folder / "targets.csv").write_text("L,a,b\n45,15,20\n60,5,10\n30,2,3\n")
    (folder / "places.csv").write_text("name,x,y\nwall,3,3\nsky,10,2\n")
    (folder / "named.csv").write_text("name,hex\nwall,#8a5a3c\nsky,#aabbcc\n")
    (folder / "broken.csv").write_text("id,K380\nbrick,x\n")
    (folder / "notes.png").write_text("no picture")
    (folder / "loop.csv").symlink_to("loop.csv")


def random_line(random, command):
    """Return words for a command: its own arguments and options, most with words that make sense.

    One in five has nothing wrong with it but what does not go together: an answer takes time.
    """
    wrong = 0.0 if random.random() < 0.2 else random.choice((0.15, 0.4))
    words = _line(random, command, wrong)
    if random.random() < 0.05:
        words.insert(random.randrange(len(words) + 1), random.choice(BAD))
    return words


def wrong_lines(random, command, count):
    """Yield so many lines with a word that is wrong where it stands, most others being right.

    In turn every option of the command meets every word that is wrong for it. A command whose
    options take no words has no such lines.
    """
    pairs = [(one, word) for one in COMMANDS[command].params if not getattr(one, "is_flag", False)
             for word in wrong_words(one)]  # fmt: skip
    random.shuffle(pairs)
    for i in range(count if pairs else 0):
        wrong = random.choice((0.0, 0.0, 0.15))
        yield _line(random, command, wrong, *pairs[i % len(pairs)])


def _line(random, command, wrong, at=None, there=""):
    words = command.split()
    declared = COMMANDS[command].params
    for one in declared:
        argument = one.param_type_name == "argument"
        chance = 0.9 if argument or one.required else 2.5 / max(len(declared), 5)
        if one.name in ("palette", "json"):
            chance = 0.9  # of a few tubes: not to search all of them each time
        if one.name == "open_" or (one is not at and random.random() > chance):
            continue
        if getattr(one, "is_flag", False):
            words.append(one.opts[0])
            continue
        for _ in range(random.choice((1, 1, 2)) if one.multiple and one is not at else 1):
            known = GOOD.get(one.name) or ["1", "2", "0.5", "4"]
            word = random.choice(BAD if random.random() < wrong else known)
            word = there if one is at else word
            words += [word] if argument else [one.opts[0], word]
    return words
