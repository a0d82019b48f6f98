from __future__ import annotations

from geometry.errors import AxlewrightError, CommandError, DesignError, Problem


def test_every_error_of_geometry_belongs_to_the_family() -> None:
    assert issubclass(DesignError, AxlewrightError)
    assert issubclass(CommandError, AxlewrightError)


def test_a_design_error_tells_every_problem_on_a_line_of_its_own() -> None:
    error = DesignError([Problem("a", "is missing"), Problem("b", "must be at least 5", "3")])
    assert str(error) == "a is missing\nb must be at least 5 (got 3)"
    assert [problem.place for problem in error.problems] == ["a", "b"]
