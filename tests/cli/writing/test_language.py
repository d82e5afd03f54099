"""The language for the editor and the bench: schema, explanations, bench sheet, how steps sound."""

import json
import wave

import pytest
from ruamel.yaml import YAML

from companion.manual.schema import schema
from companion.procedure.model import Procedure

SMALL = {
    "title": "Lid",
    "revision": "1",
    "applies_to": ["an invented engine"],
    "source_of_torques": "invented",
    "items": {"lid": {"name": "lid", "kind": "panel"}},
    "steps": [
        {"id": "off", "act": "remove", "say": "Lid off.", "book": "2 min", "opens": ["lid"],
         "fasteners": [{"what": "lid bolts", "thread": "M6", "hex": 10, "count": 4, "bag": "bag 1"}]},
        {"id": "on", "act": "tighten", "say": "Lid on.", "book": "2 min", "closes": ["lid"],
         "fasteners": [{"what": "lid bolts", "thread": "M6", "hex": 10, "count": 4, "torque": "9 N·m"}]},
    ],
}  # fmt: skip


def spoilt(path, value):
    data = json.loads(json.dumps(SMALL))
    *way, last = path
    at = data
    for key in way:
        at = at[key]
    at[last] = value
    return data


SLIPS = [
    (("tittle",), "x"),
    (("steps", 0, "act"), "smash"),
    (("steps", 0, "opens"), "lid"),
    (("steps", 0, "fasteners", 0, "count"), 0),
    (("steps", 0, "fasteners", 0, "six_lobe"), "30"),
    (("steps", 1, "fasteners", 0, "torque"), 9),
    (("items", "lid", "kind"), "lids"),
    (("steps", 0, "id"), "Off!"),
    (("steps",), []),
]


class TestSchema:
    def test_it_is_one_and_takes_what_the_check_takes(self, companion):
        jsonschema = pytest.importorskip("jsonschema")
        printed = json.loads(companion("schema").stdout)
        jsonschema.Draft202012Validator.check_schema(printed)
        validator = jsonschema.Draft202012Validator(printed)
        Procedure.from_data(SMALL)
        validator.validate(SMALL)
        for book in map(json.loads, companion("procedures", "--json").stdout.splitlines()):
            with open(book["file"], encoding="utf-8") as file:
                validator.validate(YAML(typ="safe").load(file))

    @pytest.mark.parametrize(("path", "value"), SLIPS, ids=[".".join(map(str, path)) for path, _ in SLIPS])
    def test_it_refuses_what_the_reader_refuses(self, path, value):
        jsonschema = pytest.importorskip("jsonschema")
        with pytest.raises(ValueError, match=r"\S"):
            Procedure.from_data(spoilt(path, value))
        assert not jsonschema.Draft202012Validator(schema()).is_valid(spoilt(path, value))

    def test_it_takes_what_may_be_left_out_or_stands_on_one_line(self):
        jsonschema = pytest.importorskip("jsonschema")
        short = {
            **SMALL,
            "items": {"lid": "lid, panel"},
            "steps": [
                {
                    "act": "remove",
                    "say": "Lid off.",
                    "opens": ["lid"],
                    "fasteners": "4 × lid bolts M6 hex 10",
                },
                {
                    "act": "tighten",
                    "say": "Lid on.",
                    "closes": ["lid"],
                    "fasteners": "4 × lid bolts M6, 8 N·m",
                },
            ],
        }
        Procedure.from_data(short)
        jsonschema.Draft202012Validator(schema()).validate(short)

    def test_every_field_has_its_sentence(self):
        without = [
            f"{name}.{field}"
            for name, definition in {"": schema(), **schema()["$defs"]}.items()
            for field, told in definition.get("properties", {}).items()
            if not told.get("description")
        ]
        assert without == []


class TestExplain:
    def test_a_field_tells_what_it_is_for_and_how_it_is_written(self, companion):
        told = companion("explain", "reached_through").stdout
        assert "Items that hide it" in told
        assert "a list: an id" in told
        assert "reached_through: []" in told

    def test_the_words_to_choose_from_have_their_meanings(self, companion):
        told = companion("explain", "source").stdout
        assert "mains: Electricity from the wall" in told
        assert "isolate: Make an energy source safe." in companion("explain", "step.act").stdout

    def test_a_name_that_several_have_is_told_of_each_or_of_the_one_meant(self, companion):
        assert companion("explain", "name").stdout.count("\nWritten as") > 3
        assert companion("explain", "seal.name").stdout.count("\nWritten as") == 1

    def test_all_of_them(self, companion):
        assert len(companion("explain", "all").stdout.splitlines()) > 80

    @pytest.mark.parametrize("name", ["opnes", "", "\x1b[2J"])
    def test_an_unknown_one_is_one_line(self, companion, name):
        result = companion("explain", name)
        assert result.returncode == 2
        (line,) = result.stderr.splitlines()
        assert ("opens" in line) == (name == "opnes")
        assert "\x1b" not in line


@pytest.fixture
def lid(tmp_path):
    YAML().dump(SMALL | {"review": [{"ask": "Which <engine>?", "about": "other"}]}, tmp_path / "lid.yaml")
    return "lid.yaml"


class TestShow:
    def test_the_bench_sheet_has_tools_bags_torques_and_questions(self, companion, lid):
        told = companion("show", lid).stdout
        for line in (
            "- 10 mm socket or spanner",
            "- torque wrench",
            "- bag 1: 4 lid bolts, step 1",
            "- step 2: 4 lid bolts (M6, 10 mm hex), 9 N·m",
            "- Which <engine>?",
        ):
            assert line in told, told

    def test_it_is_a_page_to_print_with_every_text_escaped(self, companion, lid, tmp_path):
        assert companion("show", lid, "--html", "bench.html").returncode == 0
        page = (tmp_path / "bench.html").read_text("utf-8")
        assert "Which &lt;engine&gt;?" in page
        assert "9 N·m" in page
        refused = companion("show", lid, "--html", "lid.yaml")
        assert refused.returncode == 2
        assert "give this another name" in refused.stderr


class TestSay:
    def test_a_step_is_told_as_the_ear_gets_it(self, companion, lid):
        result = companion("say", lid, "--step", "on")
        assert result.stdout.splitlines() == ["Step two: Lid on.", "Four lid bolts, nine newton metres.", ""]

    def test_it_is_rendered_as_sound(self, companion, lid, tmp_path):
        result = companion("say", lid, "--step", "2", "--wav", "lid.wav")
        assert result.returncode == 0, result.stderr
        with wave.open(str(tmp_path / "lid.wav")) as sound:
            assert sound.getnframes() > 2 * sound.getframerate()

    def test_a_step_that_is_not_there_is_one_line(self, companion, lid):
        result = companion("say", lid, "--step", "of")
        assert (result.returncode, result.stderr) == (
            2,
            "companion: no step is called 'of'; did you mean 'off'?\n",
        )
