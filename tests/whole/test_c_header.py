"""The written header, compiled as C99 with all warnings as errors and with sanitizers, and run."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.compiler import compiled, makes_programs_of_32_bits, run
from tests.strategies import motored_designs
from tests.whole import replay
from tests.whole.odd_robots import MORE, ODD
from tests.written import code_text

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
        if (kind == 3) {{
            {p}_start(&state);
        }}
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


def agrees(folder, play):
    """The headers answer as described and within the bound that they state."""
    texts = [code_text(programme, "c") for programme in play.programmes]
    assert played(folder, play.programmes, play.calls, texts) == play.answers
    assert play.misses(texts) == []


@pytest.mark.parametrize("key", replay.KEYS)
def test_the_header_answers_as_described_and_within_the_bound_that_it_states(key, tmp_path):
    agrees(tmp_path, replay.sample_play(key))


@pytest.mark.parametrize("key", [*ODD, *MORE])
def test_the_header_of_an_odd_chassis_answers_so_too(key, tmp_path):
    agrees(tmp_path, replay.odd_play(key))


def test_every_choice_of_parts_compiles_and_answers_as_described(tmp_path):
    agrees(tmp_path, replay.parts_play())


@replay.RANDOM
@given(st.lists(motored_designs(min_wheels=1, max_wheels=6), min_size=5, max_size=5), st.data())
def test_headers_of_random_chassis_answer_as_described_and_within_the_bound(designs, data):
    play = replay.random_play(designs, data.draw(st.sampled_from([0.1, 0.5, 3.0])))
    with TemporaryDirectory() as folder:
        agrees(Path(folder), play)


@pytest.mark.parametrize("key", [*replay.KEYS, "flips with motors", "finest counts"])
def test_every_turn_step_is_within_the_bound_that_the_header_states(key, tmp_path):
    play = replay.sample_play(key) if key in replay.KEYS else replay.odd_play(key)
    programmes = [p for p in play.programmes if "limiter" not in p.parts]
    calls = [replay.all_steps(programme) for programme in programmes]
    texts = [code_text(programme, "c") for programme in programmes]
    for programme, mine, answers, text in zip(
        programmes, calls, played(tmp_path, programmes, calls, texts), texts, strict=True
    ):
        assert replay.misses(programme, mine, answers, text) == []
        assert (replay.stated_bounds(programme, text) >= programme.bound * (1 - 1e-9)).all()


def with_altered_number(text, programme, row, column, by):
    """The header with one number of its table changed."""
    lines = text.split("\n")
    at = next(i for i, line in enumerate(lines) if " values[" in line) + 1 + row
    words = lines[at].strip().strip("{},").split(", ")
    assert words == [str(value) for value in programme.table.values[row].tolist()]
    words[column] = str(int(words[column]) + by)
    lines[at] = f"        {{{', '.join(words)}}}," if lines[at].endswith(",") else f"{{{', '.join(words)}}}"
    return "\n".join(lines)


@pytest.mark.parametrize("mode", [0, 1])
def test_one_altered_number_is_found(mode, tmp_path):
    programme = replay.sample_play("marsh_scout_six").programmes[2 * mode + 1]
    text, calls = code_text(programme, "c"), replay.all_steps(programme)
    due = replay.emulated(programme, calls)
    for i, (row, column) in enumerate(replay.altered_rows(programme)):
        folder = tmp_path / str(i)
        folder.mkdir()
        unit = 1 << max(0, int(programme.table.shift[column]))
        altered = with_altered_number(text, programme, row, column, unit)
        (slightly,) = played(folder, [programme], [calls], [altered])
        assert slightly != due
        # More than the whole bound, so that geometry must see it as well.
        far = int(2.5 * programme.bound[column] + 1) * unit
        (answers,) = played(
            folder, [programme], [calls], [with_altered_number(text, programme, row, column, far)]
        )
        assert replay.misses(programme, calls, answers, text) != []


def test_a_processor_of_32_bits_answers_alike(tmp_path):
    if not makes_programs_of_32_bits(tmp_path):
        pytest.skip("gcc -m32 is not here: install gcc-multilib")
    play = replay.sample_play("marsh_scout_motors")
    assert played(tmp_path, play.programmes, play.calls, flags=("-m32",)) == play.answers
