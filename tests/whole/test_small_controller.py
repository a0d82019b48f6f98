"""The written header on a small controller, simulated: 8-bit registers, an int of 16 bits, floats of 32."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

from tests.board import MOST_SECONDS
from tests.whole import replay
from tests.whole.odd_robots import ODD
from tests.written import code_text

TOOLS = ("avr-gcc", "simavr")
COUNT = 400
PROGRAM = """\
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <avr/sleep.h>
#include <stdio.h>
#include "robot.h"

static const int16_t calls[{count}][4] PROGMEM = {{
{calls}
}};

static int put(char c, FILE *to)
{{
    (void)to;
    loop_until_bit_is_set(UCSR0A, UDRE0);
    UDR0 = (uint8_t)c;
    return 0;
}}

static FILE line = FDEV_SETUP_STREAM(put, 0, _FDEV_SETUP_WRITE);

int main(void)
{{
    {p}_state state;
    {p}_targets targets;
    int i, n;
    UCSR0B = 1 << TXEN0;
    stdout = &line;
    {p}_start(&state);
    for (n = 0; n < {count}; n++) {{
        int16_t a = (int16_t)pgm_read_word(&calls[n][1]), b = (int16_t)pgm_read_word(&calls[n][2]);
        int16_t ms = (int16_t)pgm_read_word(&calls[n][3]);
        if (pgm_read_word(&calls[n][0])) {{
            {p}_stick(&state, a, b, ms, 0, &targets);
        }} else {{
            {p}_drive(&state, a, b, ms, 0, &targets);
        }}
        for (i = 0; i < {p}_STEERS; i++) {{
            printf("%ld ", (long)targets.steer[i]);
        }}
        for (i = 0; i < {p}_SPEEDS; i++) {{
            printf("%ld ", (long)targets.speed[i]);
        }}
        printf("%ld\\n", (long)targets.holding);
    }}
    cli();
    sleep_mode();
    return 0;
}}
"""


def simulated(folder, programme, calls):
    """Answers of the header on a small controller of 8 bits at 16 MHz."""
    rows = ",\n".join(f"    {{{int(kind == 'stick')}, {a}, {b}, {ms}}}" for kind, a, b, ms, _ in calls)
    text = PROGRAM.format(p=programme.controller.prefix, count=len(calls), calls=rows)
    (folder / "robot.h").write_text(code_text(programme, "c"), encoding="utf-8")
    (folder / "main.c").write_text(text, encoding="utf-8")
    chip = ["-mmcu=atmega2560", "-Os", "-std=c99", "-Wall", "-Wextra", "-Werror", "-Wconversion"]
    built = subprocess.run(
        ["avr-gcc", *chip, "main.c", "-o", "main.elf", "-lm"], cwd=folder, capture_output=True, text=True
    )
    assert built.returncode == 0, built.stderr[-3000:]
    done = subprocess.run(
        ["simavr", "-m", "atmega2560", "-f", "16000000", "main.elf"],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=MOST_SECONDS,
    )
    # The simulator colours what it hears, and shows a line's end as a dot.
    plain = re.sub(r"\x1b\[[0-9;]*m", "", done.stdout + done.stderr)
    lines = [line.rstrip(".") for line in plain.splitlines()]
    return replay.read_answers("\n".join(line for line in lines if re.fullmatch(r"-?\d+( -?\d+)+", line)))


@pytest.mark.skipif(
    not all(map(shutil.which, TOOLS)), reason="wants a small controller: install gcc-avr, avr-libc and simavr"
)
@pytest.mark.parametrize("spacing", ["free", "even"])
@pytest.mark.parametrize("key", ["motors", "flips with motors", "mixed motors", "finest counts"])
def test_by_table_a_controller_with_an_int_of_16_bits_answers_to_the_last_whole_number(
    key, spacing, tmp_path
):
    programme = replay.programmes(ODD[key](), ("table", spacing))[0]
    calls, due = replay.vector_calls(programme, COUNT, seed=3)
    assert simulated(tmp_path, programme, calls) == due


@pytest.mark.skipif(
    not all(map(shutil.which, TOOLS)), reason="wants a small controller: install gcc-avr, avr-libc and simavr"
)
@pytest.mark.parametrize("key", ["motors", "flips with motors", "mixed motors", "finest counts"])
def test_by_formula_floats_of_32_bits_are_off_by_their_last_digits_only(key, tmp_path):
    programme = replay.programmes(ODD[key](), ("formula", "free"))[0]
    calls, due = replay.vector_calls(programme, COUNT, seed=3)
    answers = simulated(tmp_path, programme, calls)
    assert len(answers) == len(due)
    # Seven digits of the largest target, and the rounding that may tip over.
    room = [2 + 4e-7 * max(abs(o.low), abs(o.high)) for o in programme.steer]
    for mine, one in zip(answers, due, strict=True):
        assert all(abs(a - b) <= r for a, b, r in zip(mine, one, room, strict=False))
