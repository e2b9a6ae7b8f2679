"""Every error that tensionear raises on purpose; anything else is a bug.

::

    TensionearError
    ├── InputError          what a person typed or gave is outside its limits
    │   └── RecordingError  a file cannot be read as sound
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


class DeviceError(TensionearError):
    """A microphone cannot be opened, fell silent, vanished, or runs at another rate than it claims."""
