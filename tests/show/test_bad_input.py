"""Bad input gets one line that says what was wrong, status 2, and nothing written."""

import pytest

from mixlab.files import bundled

SCENE = str(bundled("scene.jpg"))
BRICK = ("--lab", "45,15,20")


@pytest.fixture
def bad(tmp_path):
    """A directory of files in which something is wrong."""
    (tmp_path / "table.csv").write_text("id,K380\nbrick,x\n")
    (tmp_path / "odd.toml").write_text('paints = ["viridan"]')
    (tmp_path / "broken.toml").write_text('paints = ["viridian"')
    (tmp_path / "dark.csv").write_text("nm,R\n400,0.1\n410,dark\n")
    (tmp_path / "binary.csv").write_bytes(bytes(range(256)))
    (tmp_path / "notes.jpg").write_text("no picture")
    (tmp_path / "empty.csv").touch()
    return tmp_path


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        # commands and options
        ("bogus", "No such command 'bogus'"),
        ("recipe --bogus 1", "No such option: --bogus"),
        ("recipe --lab", "'--lab' requires an argument"),
        ("recipe --lab 45,15,20 stray", "stray"),
        ("mix", "Missing argument 'MIX'; see 'mixlab mix --help'"),
        ("help bogus", "No such command 'bogus'"),
        ("mix -1|PB29", "No such option: -1"),
        # what would say nothing
        ("lights PB29 --even parts", "--even says nothing without --toward MIX"),
        ("lights PB29 --steps 3", "--steps says nothing without --toward MIX"),
        ("lights PB29 --tolerance 1", "--tolerance says nothing without --match COLOUR"),
        ("lights PB29 --palette nowhere", "no palette named 'nowhere'"),
        ("layer PB29 --over PW6 --tubes 0", "--tubes says nothing without --to COLOUR"),
        ("page SCENE --out BAD/a.html --masses 0", "--masses says nothing without --plan"),
        ("paints PB29 --check BAD/table.csv", "--check looks at a file"),
        ("paints --check BAD/table.csv --table BAD/table.csv", "the paints of a palette"),
        ("paints add PB29 mine --out BAD/a.csv --white mud", "no paint 'mud'"),
        ("tints PB29 --compare PW6", "titanium-white is among the whites already; name another"),
        ("tints PB29 --compare zinc-white --compare PW4", "zinc-white is among the whites"),
        # targets
        ("recipe", "no target was given; give a COLOUR or one of --lab"),
        ("recipe --lab 45,15,20 --hex 8a5a3c", "--lab and --hex were given; give a COLOUR"),
        ("recipe --lab 45;15;20", "joined by commas, as 45,15,20"),
        ("recipe --lab 145,15,20", "between 0 (black) and 100 (white)"),
        ("recipe --lab=", "joined by commas"),
        ("recipe --lch 45,-1,20", "chroma is not below zero"),
        ("recipe --hex brown", "six hexadecimal digits, as #8a5a3c"),
        ("recipe --munsell ochre", "write it as 7.5YR 4/6"),
        ("recipe --munsell 5R|5/44", "write 5R 5/28 or less"),
        ("recipe --spectrum BAD/none.csv", "none.csv: cannot be read"),
        ("recipe --spectrum BAD/dark.csv", "row 3: '410,dark' is not"),
        ("recipe --spectrum BAD/empty.csv", "holds no wavelengths"),
        ("recipe --spectrum BAD/binary.csv", "is not UTF-8 text"),
        # places
        ("recipe --hex 8a5a3c --family", "--family is for several places"),
        ("recipe --hex 8a5a3c --key 5", "--key and --scene are for pictures"),
        ("recipe --photo SCENE --at 9,9 --key 12", "a Munsell value from 3 (low key) to 9"),
        ("recipe --photo SCENE --at 9,9 --scene 9,2", "the darkest comes first"),
        ("recipe --hex 8a5a3c --finish glossy", "the finish is gloss, satin, matt"),
        ("recipe --photo SCENE", "--photo needs a place in the picture, --at X,Y, or --places"),
        ("recipe --photo SCENE --at here", "x, y are wanted"),
        ("recipe --photo SCENE --at 1200,10", "outside the picture: it is 1200 x 800"),
        ("recipe --photo SCENE --at 1,1 --radius -1", "a radius of -1"),
        ("recipe --photo SCENE --at 1,1 --radius wide", "--radius"),
        ("recipe --photo SCENE --at 1,1,9,9 --radius 3", "a box has its own size"),
        ("recipe --photo SCENE --at 1,1 --grey 5000,1", "outside the picture"),
        ("recipe --photo SCENE --at 1,1 --grey 9,9 --grey-reflectance 2", "at most 1"),
        ("recipe --photo SCENE --at 1,1 --grey-reflectance 0.5", "--grey X,Y"),
        ("recipe --photo BAD/none.jpg --at 1,1", "there is no such file"),
        ("recipe --photo BAD/notes.jpg --at 1,1", "is not a picture that can be read"),
        ("recipe --photo BAD --at 1,1", "is a folder"),
        ("recipe --lab 45,15,20 --at 1,1", "are for places in a picture: --photo FILE"),
        ("recipe --lab 45,15,20 --radius 3", "are for places in a picture"),
        ("recipe --hex 8a5a3c --grey 1,1", "are for places in a picture: --photo FILE"),
        ("recipe --hex 8a5a3c --grey-reflectance 0.5", "are for places in a picture"),
        # settings
        ("recipe --lab 45,15,20 --tubes 0", "it must be 1 to 6"),
        ("recipe --lab 45,15,20 --tubes 7", "it must be 1 to 6"),
        ("recipe --lab 45,15,20 --tubes many", "--tubes"),
        ("recipe --lab 45,15,20 --tubes 2.5", "--tubes"),
        ("recipe --lab 45,15,20 --tolerance 0", "it must be above zero"),
        ("recipe --lab 45,15,20 --tolerance -2", "it must be above zero"),
        ("recipe --lab 45,15,20 --tolerance nan", "it must be above zero"),
        ("recipe --lab 45,15,20 --parts 0", "it must be 1 to"),
        ("recipe --lab 45,15,20 --parts 1000", "it must be 1 to"),
        ("recipe --lab 45,15,20 --out-of-reach best", "one of value, nearest"),
        ("recipe --lab 45,15,20 --light moon", "no light named 'moon'; known lights: D65"),
        ("recipe --lab 45,15,20 --observer 5", "the observer is 2 or 10"),
        ("recipe --lab 45,15,20 --with titanum-white", "near names: titanium-white"),
        ("recipe --lab 45,15,20 --with PBr7", "PBr7 is borne by burnt-sienna, burnt-umber"),
        ("recipe --lab 45,15,20 --with PW6 --without PW6", "both to be used and not"),
        ("recipe --lab 45,15,20 --tubes 1 --with PW6 --with PB29", "2 paints must be used"),
        # tables and palettes
        ("recipe --lab 45,15,20 --palette mil-pond", "near names: mill-pond"),
        ("recipe --lab 45,15,20 --palette BAD/none.toml", "none.toml: cannot be read"),
        ("recipe --lab 45,15,20 --palette BAD/odd.toml", "near names: viridian"),
        ("recipe --lab 45,15,20 --palette BAD/broken.toml", "not TOML"),
        ("recipe --lab 45,15,20 --table BAD/none.csv", "none.csv: cannot be read"),
        ("recipe --lab 45,15,20 --table BAD", "it is a folder"),
        ("mix 1|PB29 --table BAD/table.csv", "table.csv, column K380: covers 380-380 nm"),
        ("mix 1|PB29 --table BAD/empty.csv", "empty.csv: the file is empty"),
        ("paints --check BAD/odd.toml", "no paint 'viridan'"),
        ("paints --check BAD/none.csv", "cannot be read"),
        ("paints viridan", "near names: viridian"),
        ("demo --palette none", "no palette named 'none'"),
        # mixes
        ("mix|", "an empty mix"),
        ("mix 2|PB29+1|PW6", "joined by a +"),
        ("mix 0|PB29", "parts must be above zero"),
        ("mix 1|PB29|+|2|ultramarine-blue", "is in the mix already"),
        ("mix 1|PBr7", "write the id"),
        ("mix 1|PB29 --coats 0", "0 coats"),
        ("mix 1|PB29 --coats nan", "nan coats"),
        ("mix 1|PB29 --coats thick", "--coats"),
        ("layer PB29", "Missing option '--over'"),
        ("layer --over PW6", "give a MIX, or the colour wanted, --to COLOUR"),
        ("layer PB29 --over 50,150,0", "no dry surface seen gloss has the colour 50,150,0"),
        ("layer PB29 --over PW6 --coats 2..1", "from above 0 to at most 100, as 0.05..2"),
        ("layer PB29 --over PW6 --coats thick", "write a range as 0.05..2, or 0.05,0.1,0.2"),
        ("layer PB29 --over PW6 --coats 0,1", "the thickness of a film is above 0"),
        ("layer PB29 --over PW6 --to 45,15", "joined by commas, as 45,15,20"),
        ("layer --over PW6 --to 45,15,20 --tubes 4", "4 tubes in a film: it must be 1 to 3"),
        ("layer PB29 --over PW6 --tolerance 0", "it must be above zero"),
        ("layer PB29 --over PW6 --plot film.jpg", "written as .png or .svg"),
        # plans
        ("plan", "Missing argument 'PHOTO'"),
        ("plan BAD/none.jpg", "there is no such file"),
        ("plan SCENE --panel wide", "write width and height in centimetres, as 30x40"),
        ("plan SCENE --thickness fat", "it is in millimetres, as 0.15, or thin, usual, impasto"),
        ("plan SCENE --palette kiln-earths --masses 2", "2 masses: it must be 3 to 20"),
        ("plan SCENE --palette kiln-earths --with viridian", "no paint 'viridian'"),
        ("plan SCENE --palette kiln-earths --against BAD/none.jpg", "there is no such file"),
        ("plan SCENE --palette kiln-earths --places BAD/empty.csv", "it holds no passages"),
        ("plan SCENE --plot plan.jpg", "written as .png or .svg"),
        ("plan SCENE --pattern plan.jpg", "written as .png or .svg"),
        ("mix 1|PB29 --light moon", "no light named 'moon'"),
    ],
)
def test_bad_input_gets_one_line_and_status_2(run, bad, words, wrong):
    given = [
        word.replace("BAD", str(bad)).replace("SCENE", SCENE).replace("|", " ")
        for word in words.replace("mix|", "mix |").split(" ")
    ]
    before = sorted(bad.iterdir())
    status, out, err = run(*given)
    assert status == 2
    assert out == ""
    assert err.startswith("mixlab: ")
    assert err.endswith("\n") and len(err.splitlines()) == 1
    assert wrong in err
    assert "fault" not in err and "Traceback" not in err
    assert sorted(bad.iterdir()) == before


def test_a_message_stays_on_its_line_whatever_the_name(run):
    status, out, err = run("recipe", *BRICK, "--table", "two\nlines\x1b[31m.csv")
    assert (status, out) == (2, "")
    assert err == "mixlab: two\\nlines\\x1b[31m.csv: cannot be read: No such file or directory\n"


# --- files ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [
        "tints my-burnt-sienna --table OWN --csv OWN",
        "distance 40,10,20 --horizon 80,0,-5 --table OWN --csv LINK",
        "lights my-burnt-sienna --table OWN --csv OWN",
        "reach --table OWN --csv OWN",
        "predict OWN READINGS --csv OWN",
        "characterise OWN --out OWN",
        "photo OWN --csv OWN",
        "tints my-burnt-sienna --table OWN --csv NEW.png --plot NEW.png",
        "adjust my-burnt-sienna --chroma-by -1 --palette OWN --csv OWN",
        "paints add PB29 mine --tint 9 --photo OWN --at 1,1 --grey 2,2 --out LINK",
        "tints PB29 --csv BUNDLED",
        "reach --palette studio --csv STUDIO",
    ],
)
def test_no_command_writes_over_what_it_reads(run, own, tmp_path, words):
    link = tmp_path / "link.csv"
    link.symlink_to(own)
    kept = [own, bundled("paints.csv"), bundled("palettes") / "studio.toml"]
    before = [path.read_bytes() for path in kept]
    names = {"OWN": own, "LINK": link, "NEW.png": tmp_path / "new.png", "READINGS": own,
             "BUNDLED": bundled("paints.csv"), "STUDIO": bundled("palettes") / "studio.toml"}
    ran = run(*(names.get(word, word) for word in words.split()))
    assert ran.status == 2 and ran.err.count("\n") == 1 and not ran.out
    assert "this file is" in ran.err and "name another" in ran.err
    assert [path.read_bytes() for path in kept] == before and not (tmp_path / "new.png").exists()


@pytest.mark.parametrize(
    "words",
    [
        ["tints", "PB29", "--csv", ""],
        ["characterise", "", "--out", "a.csv"],
        ["characterise", "a.csv", "--out", ""],
        ["recipe", "--lab", "40,1,1", "--palette", ""],
        ["recipe", "--photo", "", "--at", "1,1"],
        ["recipe", "--spectrum", ""],
        ["mix", "1 PB29", "--table", ""],
        ["tints", "PB29", "--plot", ""],
        ["reach", "--against", ""],
        ["photo", ""],
        ["photo", SCENE, "--preview", ""],
        ["predict", "a.csv", ""],
        ["paints", "--check", ""],
        ["paints", "add", "PB29", "mine", "--out", ""],
    ],
)
def test_an_empty_name_is_no_file(run, words):
    ran = run(*words)
    assert ran.status == 2 and ran.err.count("\n") == 1
    assert "is empty" in ran.err and not ran.out
