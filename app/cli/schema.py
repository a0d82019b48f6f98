"""The verb ``schema``: print the JSON Schema of chassis files."""

from __future__ import annotations

import argparse
import json

from app.cli.exit_codes import ALIGNED
from app.design.files import schema


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take no words."""


def run(options: argparse.Namespace) -> int:  # noqa: ARG001 - every verb takes options
    """Print it."""
    print(json.dumps(schema(), indent=2, allow_nan=False))
    return ALIGNED
