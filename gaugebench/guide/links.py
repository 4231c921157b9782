"""Where the guide explains an error."""

from __future__ import annotations

from gaugebench import errors
from gaugebench.guide import Place

_TROUBLE = "trouble.md"
PLACES: dict[type[errors.GaugebenchError], Place] = {
    errors.GaugebenchError: Place(_TROUBLE, "anything-else-that-went-wrong"),
    errors.UnitError: Place(_TROUBLE, "a-quantity-without-a-unit"),
    errors.KitError: Place(_TROUBLE, "the-kit-file"),
    errors.DriverError: Place(_TROUBLE, "a-driver-that-cannot-serve"),
    errors.SourceError: Place(_TROUBLE, "a-source-that-does-not-open"),
    errors.SourceLost: Place(_TROUBLE, "a-source-that-went-away"),
    errors.RecordError: Place(_TROUBLE, "the-record-cannot-be-written"),
    errors.TraceError: Place(_TROUBLE, "a-trace-that-does-not-open"),
    errors.ImportChoiceNeeded: Place(_TROUBLE, "a-file-that-can-be-read-in-two-ways"),
    errors.AnalysisError: Place(_TROUBLE, "no-figures"),
    errors.SheetError: Place(_TROUBLE, "the-machine-sheet"),
    errors.ScriptError: Place(_TROUBLE, "a-script-of-the-practice-machine"),
    errors.JobError: Place(_TROUBLE, "the-worksheet-says-no"),
    errors.BookError: Place(_TROUBLE, "the-job-book"),
    errors.DeskError: Place(_TROUBLE, "no-window"),
}


def place_of(error: BaseException | type[BaseException]) -> Place:
    """The place of an error or of the nearest kind above it; that of any other error at last."""
    kind = error if isinstance(error, type) else type(error)
    for ancestor in kind.__mro__:
        if issubclass(ancestor, errors.GaugebenchError) and ancestor in PLACES:
            return PLACES[ancestor]
    return PLACES[errors.GaugebenchError]
