"""Lets `python -m rigmodel.cli` run the command line."""

from __future__ import annotations

import sys

from rigmodel.cli import main

sys.exit(main())
