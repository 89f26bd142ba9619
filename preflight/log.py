"""The package's logger, ``preflight``: steps of a check at INFO, what broke on the way at DEBUG.

It says nothing until the program that uses the package adds a handler.
"""

from __future__ import annotations

import logging
from typing import Final

LOG: Final = logging.getLogger("preflight")
LOG.addHandler(logging.NullHandler())
