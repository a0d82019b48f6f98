"""The verb ``samples``: list the samples, or copy one."""

from __future__ import annotations

import argparse

from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver
from app.design.samples import sample_text
from geometry.errors import CommandError
from sample_chassis import SAMPLES


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take the name of a sample, and where to write it."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="sample to copy")
    parser.add_argument("-o", "--output", metavar="FILE", help="where to; - prints it")


def run(options: argparse.Namespace) -> int:
    """List the samples, or copy the one that is named, never over a file."""
    if options.name is None:
        if options.output is not None:
            raise CommandError("name the sample to copy: axlewright samples NAME -o FILE")
        width = max(len(sample.key) for sample in SAMPLES)
        for sample in SAMPLES:
            print(f"{sample.key:<{width}}  {sample.sentence}")
        return ALIGNED
    if options.output is None:
        raise CommandError(f"say where to: axlewright samples {options.name} -o FILE")
    deliver(sample_text(options.name).encode(), options.output, replace=False)
    return ALIGNED
