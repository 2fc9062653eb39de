"""What a folder of flights says, in sentences: how many are kept, and what they measured."""

from __future__ import annotations

from collections.abc import Iterator

from fleetcal.services.flights.reduce_folder import FolderReduction
from fleetcal.services.flights.season_says import season_sentences
from fleetcal.services.flights.speed_answers import KT_AND_FT, PrintedUnits
from fleetcal.wording import counted


def folder_sentences(result: FolderReduction, units: PrintedUnits = KT_AND_FT) -> Iterator[str]:
    """Yield how many files are kept, and what the flights of one airframe say."""
    total, kept = len(result.files), result.stored + result.known
    yield (
        f"{kept} of {counted(total, 'file')} {'is' if kept == 1 else 'are'} kept: "
        f"{result.stored} stored now, {result.known} known already, {result.failed} failed."
    )
    if result.repeated:
        yield (
            f"{counted(result.repeated, 'file')} {'has' if result.repeated == 1 else 'have'} a "
            "flight that is stored from another file: passed over, counted once."
        )
    sentences = season_sentences(result.season, units)
    if sentences:
        airframe = result.season[0].airframe
        yield f"What the flights of {airframe} here say of its indicator:"
        yield from sentences


def failure_sentences(result: FolderReduction) -> Iterator[str]:
    """Yield why each file that failed did, and what to do."""
    for line in result.files:
        if line.error:
            named = line.error if line.file in line.error else f"{line.file}: {line.error}"
            yield f"{named} ({line.hint})" if line.hint else named
