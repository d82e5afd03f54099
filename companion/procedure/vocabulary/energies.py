"""Energy sources: what each kind implies. The known kinds are rows of `energies.toml`."""

from enum import StrEnum
from typing import Annotated, Any, ClassVar

from pydantic import AfterValidator, Field

from companion.procedure.unit_table import MEASURED
from companion.procedure.vocabulary.data_files import table
from companion.procedure.vocabulary.known import one_of
from companion.procedure.vocabulary.part import Part, Text, Word


class SpokenOf(StrEnum):
    """How clauses speak of a source, whose name a mechanic gave it."""

    NAME = "name"
    """As it is."""
    PRESSURE = "pressure"
    """As "the pressure in ...", unless the name has the word."""
    HOT = "hot"
    """Without "hot": the oil is cool, not the hot oil."""
    SUPPORT = "support"
    """Without what follows "on": the vehicle, not the vehicle on its stands."""


class EnergyWords(Part):
    """Clauses about one source: `{it}` is the source with its article, `{is}` the verb that fits."""

    live: str
    """As long as nothing has been done about it."""
    isolated: str
    """Isolated, and not proved, or not any more."""
    standing: str
    """Isolated and proved, told as where things stand."""
    proved: str
    """What the proof shows; also after "prove that"."""
    unproved: str
    """Why later work cannot begin."""
    restored: str
    still: str
    """What a failed proof shows."""
    isolate_again: str
    needed: str
    """What later work needs, as in "needs the battery disconnected"."""
    wait: str = "isolation wait for {it}"
    """The maker's wait between isolating and proving."""


Clauses = Annotated[str, AfterValidator(one_of(table("vocabulary", "energies")["words"]))]
"""A row of what is said."""


class EnergySource(Word):
    """Kinds of energy that can hurt someone during the job.

    A file may declare its own, as a group of keys: it needs a `wait` and a reading, unless that says not.
    """

    known: ClassVar[dict[str, Any]]
    called: Text
    """What kind of energy it is."""
    about: Text = "Declared by the file."
    """What it is, for the reader."""
    lingers: bool = True
    """It stays after the switch, so the maker's `wait` is needed."""
    deadly: bool = True
    """A wrong guess kills: words alone do not prove it, a reading does."""
    licensed: bool = False
    """Trained and licensed people only."""
    presses: bool = False
    """It stands in a circuit, which restoring it puts under pressure."""
    carries: bool = False
    """It holds up what someone may be under."""
    readings: dict[Annotated[str, AfterValidator(one_of(MEASURED))], float] = Field(default_factory=dict)
    """The units that can prove it, each with the highest value that may still mean dead."""
    spoken_of: SpokenOf = SpokenOf.NAME
    """How clauses speak of it."""
    words: Clauses = "made safe"
    """What is said of it."""


EnergySource.rows(table("vocabulary", "energies")["sources"], lingers=False, deadly=False)
WORDS = {name: EnergyWords(**row) for name, row in table("vocabulary", "energies")["words"].items()}
"""What is said, by the name of the row."""
