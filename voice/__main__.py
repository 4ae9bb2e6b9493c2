"""``python3 voice COMMAND``: set the machine up on first use, then hand over to the command line.

Until the virtual environment stands, only the standard library is there; and an older Python must
still get as far as being told that it is too old. So this file stays plain and imports late.
"""

import os
import sys
from pathlib import Path

if sys.version_info < (3, 11):  # noqa: UP036 - the very case that has to be told
    sys.exit(
        "legbook: this is Python {}.{}, and legbook needs 3.11 or newer. "
        "Install one, then call it by its name: python3.11 voice ...".format(*sys.version_info)
    )

# Called by its folder's name, Python looks for modules inside the folder instead of beside it.
_HERE = Path(__file__).resolve().parent
sys.path = [str(_HERE.parent), *(p for p in sys.path if not p or Path(p).resolve() != _HERE)]

from voice.setup_machine import SetupError, command  # noqa: E402 - only now can it be found

if __name__ == "__main__":
    try:
        replacement = command(sys.argv[1:])
    except SetupError as error:
        print(f"legbook: {error}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("legbook: Set-up was stopped; the next call begins it anew.", file=sys.stderr)
        sys.exit(130)
    os.execv(replacement[0], replacement)  # noqa: S606 - no shell is wanted
