"""The errors a technician can meet, each with an example of what causes it.

Every message is one sentence that says what is wrong, where, and what to do. Anything that is
not a `GaugebenchError` is a fault of the program and is never caught to be shown as advice.
"""


class GaugebenchError(Exception):
    """Whatever the program can explain. Example: see the subclasses."""


class UnitError(GaugebenchError):
    """A quantity could not be read. Example: `34.3` where `34.3 MPa` was meant."""


class KitError(GaugebenchError):
    """A kit file is wrong. Example: a transducer without a range."""


class DriverError(GaugebenchError):
    """A driver cannot serve. Example: no driver is called `text-line`, or its library is absent."""


class SourceError(GaugebenchError):
    """A source could not be opened or read. Example: the port is held by another program."""


class SourceLost(SourceError):
    """A source was there and went away. Example: the USB plug was pulled while recording."""


class RecordError(GaugebenchError):
    """The record cannot be written. Example: the disk is full."""


class TraceError(GaugebenchError):
    """A trace cannot be read. Example: the file was cut short, or is not a trace at all."""


class ImportChoiceNeeded(TraceError):
    """A file can be read in two ways and the user must say which.

    Example: `03/04/2025` as a date, or no unit given for a pressure column.
    """


class BookError(GaugebenchError):
    """The job book cannot serve. Example: its file is damaged and there is no whole backup."""


class AnalysisError(GaugebenchError):
    """Figures cannot be had from a trace. Example: no channel plays the role of a main pressure."""


class SheetError(GaugebenchError):
    """A machine sheet is wrong. Example: a check whose band is `343`, without a unit."""


class ScriptError(GaugebenchError):
    """A script of the practice machine is wrong. Example: a move of a lever that it has not."""


class JobError(GaugebenchError):
    """A job cannot do that now. Example: a stall asked for while the hands are in."""


class DeskError(GaugebenchError):
    """The desk cannot be shown. Example: there is no screen, or a system library is missing."""
