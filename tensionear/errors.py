"""Every error that tensionear raises on purpose; anything else is a bug.

::

    TensionearError
    ├── InputError          what a person typed or gave is outside its limits
    │   ├── RecordingError  a file cannot be read as sound
    │   └── BundleError     a record bundle is damaged, was changed, or never was one
    ├── ArchiveError        the archive cannot be used: read-only, full, damaged, of a newer program
    └── DeviceError         a microphone cannot be opened, fell silent, vanished or runs at a false rate

A message names the value, the limit, then the likely slip or the remedy, and is fit to be shown as it is.
Exceptions of libraries are translated once, where the library is called, ``from`` their cause.
A pluck that cannot be read is no error: it is a refusal with a reason (`tensionear.pluck.outcome`).
"""


class TensionearError(Exception):
    """Anything that a person using tensionear can understand and put right."""


class InputError(TensionearError, ValueError):
    """A value that was typed, or a file that was given, is outside its limits."""


class RecordingError(InputError):
    """A file is missing, unreadable, damaged or holds no sound."""


class BundleError(InputError):
    """A record bundle, or a part of one, is not as tensionear writes it: damaged, changed, or something else."""


class ArchiveError(TensionearError):
    """The archive of jobs is read-only, full, damaged, busy, out of reach or written by a newer program."""


class DeviceError(TensionearError):
    """A microphone cannot be opened, fell silent, vanished, or runs at another rate than it claims."""
