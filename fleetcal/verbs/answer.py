"""What a verb answers: the frozen result of a service, its sentences, a frame, a figure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Generic, TypeVar

from fleetcal.errors import DataError

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from pandas import DataFrame

Result_co = TypeVar("Result_co", covariant=True)


@dataclass(frozen=True, kw_only=True, repr=False)
class Answer(Generic[Result_co]):
    """What a verb answers.

    Printed, it is its sentences; in a notebook, sentences, figure and table.

    Attributes:
        result: Frozen record of the service, with every number unrounded; units are in the names.
        sentences: The answer, as the command prints it first.
        rows_in: Field of the result that holds the rows of `frame`.
        notable: Columns of the frame that a notebook shows; all if empty.
        warnings: What was assumed or left out, and what speaks against the answer.
        caution: What every printed answer carries; empty where there is nothing to be cautious
            about.
    """

    result: Result_co
    sentences: tuple[str, ...]
    rows_in: str
    notable: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    caution: str = ""

    def frame(self) -> DataFrame:
        """Return the rows with the columns that the command prints as CSV.

        Returns:
            One row a row of the CSV, under the same names; what is missing is NaN or None. Units
            are in the names: ``_kt`` knots, ``_ft`` feet, ``_kg`` kilograms, ``_deg`` degrees.
        """
        from fleetcal.verbs.frames import result_frame

        return result_frame(self.result, self.rows_in)

    def __str__(self) -> str:
        return "\n".join((*self.sentences, *filter(None, [self.caution])))

    def __repr__(self) -> str:
        return str(self)

    def _repr_html_(self) -> str:
        from fleetcal.verbs.in_notebook import answer_html, frame_html

        return answer_html(
            sentences=self.sentences,
            warnings=self.warnings,
            figure=self._figure(),
            table=frame_html(self.frame(), self.notable),
            caution=self.caution,
        )

    def _figure(self) -> Figure | None:
        """Return what a notebook shows between sentences and table."""
        return None


@dataclass(frozen=True, kw_only=True, repr=False)
class DrawnAnswer(Answer[Result_co]):
    """An answer that has a figure.

    Attributes:
        drawing: Draws it; None where there is nothing to be drawn.
    """

    drawing: Callable[[], Figure] | None = field(compare=False)

    def draw(self) -> Figure:
        """Draw the figure of the command.

        Returns:
            A figure of its own, for example to be saved: ``answer.draw().savefig("curve.png")``.

        Raises:
            DataError: If there is nothing to be drawn.
        """
        if self.drawing is None:
            raise DataError(
                "nothing is drawn of a flight that is stored already",
                "leave airframe out: the flight is then reduced again, and nothing is stored",
            )
        return self.drawing()

    def _figure(self) -> Figure | None:
        return None if self.drawing is None else self.drawing()


def cautioned() -> str:
    """Return the short caution that a printed answer carries."""
    from fleetcal.services.cautions import SHORT_CAUTION

    return SHORT_CAUTION


def doubts_and_notes(*groups: Sequence[str]) -> tuple[str, ...]:
    """Return sentences of several kinds as they are shown below an answer, each once."""
    together = (_sentence(text) for group in groups for text in group)
    return tuple(dict.fromkeys(together))


def _sentence(text: str) -> str:
    word = text.split(" ", 1)[0]
    begin = word.capitalize() if word.isalpha() and word.islower() else word
    return f"{begin}{text[len(word) :]}".removesuffix(".") + "."
