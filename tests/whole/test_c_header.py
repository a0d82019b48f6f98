"""The written header, compiled as C99 with all warnings as errors and with sanitizers, and run."""

from __future__ import annotations

import pytest

from app.export.formats import code_text
from tests.compiler import compiled, makes_programs_of_32_bits, run
from tests.whole import replay

# The header is included twice: once here, once in the middle of the file.
UNIT = """\
#include <stdio.h>
#include "{p}.h"
#include "{p}.h"

void play_{p}(long count);

void play_{p}(long count)
{{
    {p}_state state;
    {p}_targets targets;
    {p}_start(&state);
    while (count-- > 0) {{
        long kind, a, b, ms, known;
        int32_t measured[{room}], *places = 0;
        int i, holding = 0;
        if (scanf("%ld %ld %ld %ld %ld", &kind, &a, &b, &ms, &known) != 5) {{
            return;
        }}
        for (i = 0; known && i < {measures}; i++) {{
            long place = 0;
            if (scanf("%ld", &place) != 1) {{
                return;
            }}
            measured[i] = (int32_t)place;
            places = measured;
        }}
        (void)places;
        if (kind == 2) {{
            state.step = (int32_t)a;
            {p}_drive(&state, 0, 0, (int32_t)ms{places}, &targets);
        }} else if (kind == 1) {{
            {stick};
        }} else {{
            {p}_drive(&state, (int32_t)a, (int32_t)b, (int32_t)ms{places}, &targets);
        }}
        {print_steer}
        for (i = 0; i < {p}_SPEEDS; i++) {{
            printf("%ld ", (long)targets.speed[i]);
        }}
        {set_holding}
        printf("%d\\n", holding);
    }}
}}
"""
STEER = 'for (i = 0; i < {p}_STEERS; i++) printf("%ld ", (long)targets.steer[i]);'


def unit(programme):
    """A translation unit that plays calls to one programme."""
    p, parts, steers = programme.controller.prefix, programme.parts, len(programme.steer)
    holds = "hold" in parts
    places = ", places" if holds else ""
    stick = f"{p}_stick(&state, (int32_t)a, (int32_t)b, (int32_t)ms{places}, &targets)"
    return UNIT.format(
        p=p,
        places=places,
        room=max(steers, 1),
        measures=steers if holds else 0,
        stick=stick if "mixing" in parts else "return",
        print_steer=STEER.format(p=p) if steers else "",
        set_holding="holding = (int)targets.holding;" if holds else "",
    )


def built(folder, programmes, texts, *flags):
    """A program of one translation unit for each header, and a last one that includes them all."""
    sources = []
    for programme, text in zip(programmes, texts, strict=True):
        p = programme.controller.prefix
        (folder / f"{p}.h").write_text(text, encoding="utf-8")
        sources.append(folder / f"{p}.c")
        sources[-1].write_text(unit(programme), encoding="utf-8")
    prefixes = [programme.controller.prefix for programme in programmes]
    lines = ["#include <stdio.h>", *(f'#include "{p}.h"' for p in prefixes)]
    lines += [f"void play_{p}(long count);" for p in prefixes]
    lines += ["int main(void)", "{", "    long count;"]
    lines += [f'    if (scanf("%ld", &count) == 1) play_{p}(count);' for p in prefixes]
    (folder / "main.c").write_text("\n".join([*lines, "    return 0;", "}", ""]), encoding="utf-8")
    return compiled(folder, [*sources, folder / "main.c"], *flags)


def played(folder, programmes, calls, texts=None, flags=()):
    """Answers of several headers, all in one process: one list for each."""
    texts = texts or [code_text(programme, "c") for programme in programmes]
    program = built(folder, programmes, texts, *flags)
    given = "".join(f"{len(mine)}\n{replay.told(mine)}" for mine in calls)
    found = replay.read_answers(run(program, given))
    assert len(found) == sum(map(len, calls))
    parts = []
    for mine in calls:
        parts.append(found[: len(mine)])
        found = found[len(mine) :]
    return parts


@pytest.mark.parametrize("key", replay.KEYS)
def test_the_header_answers_as_described_and_within_the_bound_that_it_states(key, tmp_path):
    play = replay.sample_play(key)
    texts = [code_text(programme, "c") for programme in play.programmes]
    assert played(tmp_path, play.programmes, play.calls, texts) == play.answers
    assert play.misses(texts) == []


@pytest.mark.parametrize("key", replay.KEYS)
def test_every_turn_step_is_within_the_bound_that_the_header_states(key, tmp_path):
    programmes = [p for p in replay.sample_play(key).programmes if "limiter" not in p.parts]
    calls = [[("at", q, 0, 0, None) for q in range(p.first, p.last + 1)] for p in programmes]
    texts = [code_text(programme, "c") for programme in programmes]
    for programme, mine, answers, text in zip(
        programmes, calls, played(tmp_path, programmes, calls, texts), texts, strict=True
    ):
        assert replay.misses(programme, mine, answers, text) == []


def test_a_processor_of_32_bits_answers_alike(tmp_path):
    if not makes_programs_of_32_bits(tmp_path):
        pytest.skip("gcc -m32 is not here: install gcc-multilib")
    play = replay.sample_play("marsh_scout_motors")
    assert played(tmp_path, play.programmes, play.calls, flags=("-m32",)) == play.answers
