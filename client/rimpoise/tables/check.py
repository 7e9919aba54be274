"""Plans for every row of a table, a few requests at a time, in the rows' order."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..batches import chunks, in_order
from ..client import Client
from ..encoding import to_json
from ..errors import AnswerError, BadRequest, ProblemError, QuestionError, TooLarge
from ..values import Value
from .results import COLUMNS, Answer, Per, answer
from .table import Row, Table, open_table

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, slots=True)
class _Batch(Value):
    """The results of a batch as they came: of each, a row needs only a little."""

    results: tuple[Mapping[str, object], ...]


def check(
    client: Client,
    table: Table,
    *,
    min_chance_pct: float = 0.0,
    after: int = 0,
    chunk: int = 50,
    at_once: int = 4,
    alternatives: bool = True,
    progress: Callable[[int], None] | None = None,
) -> Iterator[tuple[Row, Answer]]:
    """Each row from the one after so many on, with its answer.

    min_chance_pct: what passes with a smaller chance [%] does not pass. chunk rows are sent in a request, at_once
    of which are under way. alternatives: without other layouts than the first, unless a row wants them, plans come
    several times as soon. ``progress`` gets the number of rows answered. A row that the service refuses has its
    problem in its own place. Raises RimpoiseError, BadTable, OSError.
    """
    waiting: deque[Row] = deque()
    number = after
    asked = chunks(_kept(table.rows(after), waiting, alternatives=alternatives), chunk)
    for results in in_order(asked, lambda part: _ask(client, part), at_once):
        for result in results:
            number += 1
            row = waiting.popleft()
            yield row, answer(number, row.request, result, min_chance_pct=min_chance_pct, columns=table.columns)
        if progress:
            progress(number)


def _kept(rows: Iterable[Row], waiting: deque[Row], *, alternatives: bool) -> Iterator[object]:
    """The request of each row, the row kept until its answer comes."""
    for row in rows:
        waiting.append(row)
        yield row.request if alternatives else _first_only(row.request)


def _first_only(request: object) -> object:
    """The same request without alternatives, if it doesn't say; what is no request stays as it is.

    >>> _first_only({"preferences": {"appearance": "clean_face"}})
    {'preferences': {'alternatives': False, 'appearance': 'clean_face'}}
    """
    wishes = request.get("preferences", {}) if isinstance(request, Mapping) else None
    if not isinstance(request, Mapping) or not isinstance(wishes, Mapping):
        return request
    return {**request, "preferences": {"alternatives": False, **wishes}}


def _ask(client: Client, part: Sequence[object]) -> list[Mapping[str, Any]]:
    """A result for each request, as JSON. What is refused as a whole is halved until one row is to blame."""
    try:
        results = client._post("/v1/plans/batch", {"plans": part}, _Batch).results
    except (QuestionError, BadRequest, TooLarge) as error:
        if len(part) == 1:
            return [{"plan": None, "problem": _problem(error)}]
        half = len(part) // 2
        return [*_ask(client, part[:half]), *_ask(client, part[half:])]
    if len(results) != len(part):
        raise AnswerError(200, f"expected {len(part)} results, got {len(results)}", "#/results")
    return list(results)


def _problem(error: QuestionError | ProblemError) -> dict[str, Any]:
    """The problem of a row that was sent alone; its pointers without those into the document around it."""
    if isinstance(error, QuestionError):
        pointer, detail = _in_row(error.pointer), error.reason
        fault = {"pointer": pointer, "detail": detail}
        return {"type": "about:blank", "title": "The row can't be sent", "status": 400, "detail": detail,
                "instance": "", "errors": [fault]}  # fmt: skip
    faults = [to_json(fault) | {"pointer": _in_row(fault.pointer)} for fault in error.errors]
    return {"type": error.type, "title": error.title, "status": error.status, "detail": error.detail,
            "instance": error.instance, "errors": faults}  # fmt: skip


def _in_row(pointer: str) -> str:
    return "#" + pointer.removeprefix("#/plans/0") if pointer.startswith("#/plans/0") else pointer


def check_frame(
    client: Client, frame: Any, *, per: Per = "wheel", min_chance_pct: float = 0.0, **options: Any
) -> pl.DataFrame:
    """The results of a frame's rows as a frame, with the columns that are passed through.

    per: one row a "wheel" or a "piece". options: those of ``open_table``, and chunk and at_once. Raises
    RimpoiseError, BadTable; ModuleNotFoundError without the extra ``tables``.
    """
    from .frames import FrameSource, as_frame

    sending = {name: options.pop(name) for name in ("chunk", "at_once") if name in options}
    table = open_table(frame, form="parquet", **options)
    found = check(client, table, min_chance_pct=min_chance_pct, alternatives=False, **sending)
    rows = [cells for _, said in found for cells in said.cells(per)]
    results = as_frame(rows, COLUMNS[per])
    if not table.passed or not isinstance(table.source, FrameSource):
        return results
    through = table.source.columns(table.passed)
    through.columns = output_names(table.passed, per)
    return results.hstack(through[(results["row"] - 1).to_list()])


def output_names(passed: Sequence[str], per: Per) -> list[str]:
    """The names under which columns are passed through: one that a column of ours has is prefixed.

    >>> output_names(["colour", "price"], "wheel")
    ['colour', 'input_price']
    """
    return [f"input_{name}" if name in COLUMNS[per] else name for name in passed]
