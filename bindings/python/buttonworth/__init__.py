"""Buttonworth: which way of handling and selling gold concentrate leaves the most.

    import buttonworth
    answer = buttonworth.compare(open("plan.json", encoding="utf-8").read())
    print(answer["best"], answer["routes"][answer["best"]]["net"])

Documents are JSON; the format's page describes them. Figures of answers are exact decimals, as text.

Threads. One thread at a time uses a Context (another gets BusyError); give each thread its own. Plans
may be shared for reading. Other threads of Python run while the library works, and Ctrl-C ends its work.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable as _Iterable
from collections.abc import Mapping as _Mapping
from types import TracebackType
from typing import Any, Callable, Dict, Iterable, List, Mapping, Optional, Tuple, Type, TypeVar, Union

from . import _arrays, _buttonworth, _header, _text
from .errors import (
    BusyError,
    Cancelled,
    DocumentError,
    DomainError,
    Error,
    InternalError,
    KindError,
    MemoryFailure,
    NoSolutionError,
    UsageError,
)

__all__ = [
    "BusyError", "Cancelled", "Context", "DocumentError", "DomainError", "Error", "InternalError", "KindError",
    "LotValues", "MemoryFailure", "Month", "NoSolutionError", "Plan", "Simulation", "UsageError",
    "allocate", "bench", "book", "break_even",
    "choice_map", "compare", "convert", "convert_array", "counter_offers", "dispute", "forgiving_cut", "formula",
    "formula_array", "formulas", "metal_call", "reconcile", "schema", "sensitivity", "settle", "simulate", "value_lots",
    "version", "worth",
]

#: A plan's document: JSON text, a dict (its order is kept), or rows of a JSON pointer and a value.
Document = Union[str, bytes, bytearray, Mapping[str, Any], Iterable[Tuple[Any, Any]]]
#: A call's options, as the format's page has them, such as {"how": False} of a comparison, or JSON text.
Options = Union[None, str, bytes, Mapping[str, Any]]

_Function = TypeVar("_Function", bound=Callable[..., Any])


def _told_of(name: str) -> Callable[[_Function], _Function]:
    """Gives a function the words that the C header has on it, behind what is said here of Python alone."""

    def with_text(function: _Function) -> _Function:
        first, _, more = (function.__doc__ or "").partition("\n")
        here = f"{first}\n{textwrap.dedent(more)}\n".lstrip("\n")
        function.__doc__ = f"{here}{_header.TEXTS[name]}\n\n({name} in the C header.)"
        return function

    return with_text


@_told_of("bw_context_create")
class Context:
    """Limits of what is read, and the turn of one call at a time.

    with Context() as context, context.plan(document) as plan:
        answer = plan.compare()
    """

    def __init__(self) -> None:
        self._handle = _buttonworth.ContextHandle()

    def __enter__(self) -> Context:
        return self

    def __exit__(self, kind: Optional[Type[BaseException]], error: Optional[BaseException],
                 trace: Optional[TracebackType]) -> None:
        self.close()

    def close(self) -> None:
        """Frees the context, again and again if you like. A call under way comes to its end."""
        self._handle.close()

    @_told_of("bw_plan_read_rows")
    @_told_of("bw_plan_read")
    def plan(self, document: Document) -> Plan:
        """Reads a plan, whatever kind of document it is. All that is wrong is in the error's `errors`."""
        if isinstance(document, (bytes, bytearray)):
            return Plan(self, self._handle.plan(bytes(document)))
        if isinstance(document, str):
            return Plan(self, self._handle.plan(_text.to_bytes(document, "a plan")))
        if isinstance(document, _Mapping):
            return Plan(self, self._handle.plan(_text.to_json(document)))
        if isinstance(document, _Iterable):
            return Plan(self, self._handle.plan_of_rows(_text.to_rows(document)))
        _text.refuse_kind("a plan is text, bytes, a dict or rows of a pointer and a value", document)

    @_told_of("bw_cancel")
    def cancel(self) -> None:
        self._handle.cancel()

    @_told_of("bw_get_limit")
    def limit(self, name: str) -> int:
        return self._handle.get_limit(_text.to_bytes(name, "a limit's name"))

    @_told_of("bw_set_limit")
    def set_limit(self, name: str, value: int) -> None:
        if not isinstance(value, int):
            _text.refuse_kind("a limit is a whole number", value)
        if value >= 2**63:
            _buttonworth.refuse("", f"a limit is below 2^63, and not {value}")
        self._handle.set_limit(_text.to_bytes(name, "a limit's name"), max(value, 0))


class Plan:
    """A plan that was read and found in order. It never changes. Made by Context.plan."""

    def __init__(self, context: Context, handle: _buttonworth.PlanHandle) -> None:
        self._context = context
        self._handle = handle

    def __enter__(self) -> Plan:
        return self

    def __exit__(self, kind: Optional[Type[BaseException]], error: Optional[BaseException],
                 trace: Optional[TracebackType]) -> None:
        self.close()

    def close(self) -> None:
        """Frees the plan, again and again if you like. A call under way comes to its end."""
        self._handle.close()

    @_told_of("bw_compare")
    def compare(self, options: Options = None) -> Dict[str, Any]:
        handle = self._context._handle
        answer: Dict[str, Any] = _finish(handle.compare(self._handle, _options_text(options)))
        return answer

    def compare_text(self, options: Options = None) -> str:
        """The same as JSON text."""
        handle = self._context._handle
        return handle.compare(self._handle, _options_text(options)).text()

    def _job(self, job: str, options: Options) -> Dict[str, Any]:
        call = getattr(self._context._handle, job)
        answer: Dict[str, Any] = _finish(call(self._handle, _options_text(options)))
        return answer

    @_told_of("bw_break_even")
    def break_even(self, options: Options) -> Dict[str, Any]:
        """As in plan.break_even({"of": "/prices/Au"})."""
        return self._job("break_even", options)

    @_told_of("bw_counter_offers")
    def counter_offers(self, options: Options = None) -> Dict[str, Any]:
        return self._job("counter_offers", options)

    @_told_of("bw_forgiving_cut")
    def forgiving_cut(self, options: Options = None) -> Dict[str, Any]:
        return self._job("forgiving_cut", options)

    @_told_of("bw_sensitivity")
    def sensitivity(self, options: Options = None) -> Dict[str, Any]:
        return self._job("sensitivity", options)

    @_told_of("bw_map")
    def map(self, options: Options) -> Dict[str, Any]:
        """As in plan.map({"x": {"of": "/prices/Au"}, "y": {"of": "/lot/wet_mass"}})."""
        return self._job("map", options)

    @_told_of("bw_simulate")
    def simulate(self, options: Options = None) -> Simulation:
        handle = self._context._handle
        return Simulation(handle.simulate(self._handle, _options_text(options)))

    @_told_of("bw_worth")
    def worth(self, options: Options) -> Dict[str, Any]:
        return self._job("worth", options)

    @_told_of("bw_value_lots")
    def value_lots(self, columns: Mapping[str, Any], options: Options = None) -> LotValues:
        """As in plan.value_lots({"/lot/wet_mass": kilograms, "/lot/assays/Au": grams_per_tonne}, {"draws": 64})."""
        if not isinstance(columns, _Mapping):
            _text.refuse_kind("the columns are a dict of pointers and numbers", columns)
        handle, asked, rows = self._context._handle, _options_text(options), _buttonworth.RowList()
        for pointer in columns:
            rows.add(_text.to_bytes(pointer, "a pointer"), b"")
        routes = handle.lot_routes(self._handle, asked)
        whole, places, figures = _arrays.lots(tuple(columns.values()), routes)
        answer: Dict[str, Any] = _finish(handle.value_lots(self._handle, asked, rows, whole, *places))
        return LotValues(answer, *figures)

    @_told_of("bw_plan_with")
    def with_value(self, pointer: str, value: Any) -> Plan:
        """A plan like this one with the value at a JSON pointer replaced by a text, number, list or dict.

        Text is taken as a spreadsheet's cell is: "true", "false" and "null" are not text, and neither is
        JSON text of a list or an object.
        """
        place = _text.to_bytes(pointer, "a pointer")
        handle = self._context._handle
        return Plan(self._context, handle.plan_with(self._handle, place, _text.to_cell(value, pointer)))

    @_told_of("bw_plan_text")
    def text(self) -> str:
        return self._handle.text()


class LotValues(Dict[str, Any]):
    """The answer of a valuing of lots, and what each lot leaves by each route, in the order of answer["routes"].

    means and sds are NumPy arrays, a row a lot and a column a route, where a column was such an array; else an
    array.array("d") each, one lot after the other. NaN: refused, or the row cannot be read; -infinity: the lot
    breaks physics.
    """

    def __init__(self, answer: Dict[str, Any], means: Any, sds: Any) -> None:
        super().__init__(answer)
        self.means = means
        self.sds = sds


@_told_of("bw_break_even")
def break_even(document: Document, options: Options) -> Dict[str, Any]:
    with Context() as context, context.plan(document) as plan:
        return plan.break_even(options)


@_told_of("bw_counter_offers")
def counter_offers(document: Document, options: Options = None) -> Dict[str, Any]:
    with Context() as context, context.plan(document) as plan:
        return plan.counter_offers(options)


@_told_of("bw_forgiving_cut")
def forgiving_cut(document: Document, options: Options = None) -> Dict[str, Any]:
    with Context() as context, context.plan(document) as plan:
        return plan.forgiving_cut(options)


@_told_of("bw_sensitivity")
def sensitivity(document: Document, options: Options = None) -> Dict[str, Any]:
    with Context() as context, context.plan(document) as plan:
        return plan.sensitivity(options)


@_told_of("bw_map")
def choice_map(document: Document, options: Options) -> Dict[str, Any]:
    """A plan's `map`."""
    with Context() as context, context.plan(document) as plan:
        return plan.map(options)


class Simulation(Dict[str, Any]):
    """The answer of a simulation, and its draws where the options had "keep": True."""

    def __init__(self, handle: _buttonworth.AnswerHandle) -> None:
        super().__init__(handle.value())
        self._handle = handle

    @_told_of("bw_answer_draws")
    def draws(self, name: str) -> Any:
        """What a route is worth, or an input of this JSON pointer is, draw by draw.

        A NumPy array where NumPy is installed, else an array.array("d"); NaN where a draw was left out.
        """
        handle = _buttonworth.ContextHandle()
        return _arrays.of_bytes(handle.draws(self._handle, _text.to_bytes(name, "a route or a pointer")))


@_told_of("bw_compare")
def compare(document: Document, options: Options = None) -> Dict[str, Any]:
    with Context() as context, context.plan(document) as plan:
        return plan.compare(options)


@_told_of("bw_simulate")
def simulate(document: Document, options: Options = None) -> Simulation:
    with Context() as context, context.plan(document) as plan:
        return plan.simulate(options)


@_told_of("bw_worth")
def worth(document: Document, options: Options) -> Dict[str, Any]:
    with Context() as context, context.plan(document) as plan:
        return plan.worth(options)


@_told_of("bw_value_lots")
def value_lots(document: Document, columns: Mapping[str, Any], options: Options = None) -> LotValues:
    """A plan's `value_lots`; for lots in pieces, read the plan once and ask it for each piece."""
    with Context() as context, context.plan(document) as plan:
        return plan.value_lots(columns, options)


#: A request of its own: JSON text or a dict.
Request = Union[str, bytes, Mapping[str, Any]]


def _request(request: Request, what: str) -> bytes:
    if isinstance(request, _Mapping):
        return _text.to_json(request)
    return request if isinstance(request, bytes) else _text.to_bytes(request, what)


def _ask(call: str, request: Request, what: str) -> Dict[str, Any]:
    """A call on a request of its own, with a context of its own."""
    handle = _buttonworth.ContextHandle()
    answer: Dict[str, Any] = _finish(getattr(handle, call)(_request(request, what)))
    return answer


@_told_of("bw_settle")
def settle(delivery: Request) -> Dict[str, Any]:
    return _ask("settle", delivery, "a delivery")


@_told_of("bw_book")
def book(month: Request) -> Dict[str, Any]:
    return _ask("book", month, "a month")


@_told_of("bw_month_open")
class Month:
    """A month whose tables come in pieces; the rows are settled as they come and not kept.

    with Month(heading) as month, open("deliveries.csv", encoding="utf-8") as table:
        for line in table:
            month.take("deliveries", line)
        book = month.book()
    """

    def __init__(self, heading: Request, context: Optional[Context] = None) -> None:
        self._context = context if context is not None else Context()
        self._handle = self._context._handle.month(_request(heading, "a month"))

    def __enter__(self) -> Month:
        return self

    def __exit__(self, kind: Optional[Type[BaseException]], error: Optional[BaseException],
                 trace: Optional[TracebackType]) -> None:
        self.close()

    def close(self) -> None:
        """Frees the month, again and again if you like. A call under way comes to its end."""
        self._handle.close()

    @_told_of("bw_month_take")
    def take(self, table: str, csv: Union[str, bytes]) -> None:
        piece = csv if isinstance(csv, bytes) else _text.to_bytes(csv, "a table")
        self._context._handle.month_take(self._handle, _text.to_bytes(table, "a table's name"), piece)

    @_told_of("bw_month_close")
    def book(self) -> Dict[str, Any]:
        answer: Dict[str, Any] = _finish(self._context._handle.month_close(self._handle))
        return answer


@_told_of("bw_reconcile")
def reconcile(delivery_and_return: Request) -> Dict[str, Any]:
    return _ask("reconcile", delivery_and_return, "a delivery and its return")


@_told_of("bw_dispute")
def dispute(request: Request) -> Dict[str, Any]:
    return _ask("dispute", request, "a dispute")


@_told_of("bw_metal_call")
def metal_call(request: Request) -> Dict[str, Any]:
    return _ask("metal_call", request, "streams and stages")


@_told_of("bw_bench")
def bench(request: Request) -> Dict[str, Any]:
    return _ask("bench", request, "a request to the bench")


@_told_of("bw_allocate")
def allocate(request: Request) -> Dict[str, Any]:
    """By the library of schedules: a UsageError says so where it is not installed. Ctrl-C ends the search."""
    return _ask("allocate", request, "lots to allocate")


@_told_of("bw_formula")
def formula(name: str, *arguments: float) -> float:
    """One figure of plain numbers: formula("two_product_recovery", 0.008, 0.25, 0.0015) is 0.8174…"""
    return _buttonworth.formula(name, *arguments)


@_told_of("bw_formula_array")
def formula_array(name: str, *arguments: Any) -> Any:
    """A formula over whole columns; single numbers stand for every row.

    NumPy's arrays are broadcast and give one, other rows of numbers an array.array("d"). Where a row has no
    result the error says which.
    """
    whole, results, answer = _arrays.columns(arguments)
    _buttonworth.ContextHandle().formula_array(_text.to_bytes(name, "a formula's name"), whole, results)
    return answer


@_told_of("bw_formulas")
def formulas() -> List[Dict[str, Any]]:
    answer: List[Dict[str, Any]] = _finish(_buttonworth.ContextHandle().formulas())
    return answer


@_told_of("bw_convert")
def convert(quantity: str, to: str, factors: Optional[Mapping[str, str]] = None) -> str:
    """A quantity in another unit of its dimension, exactly: convert("1 lb", "g") is "453.59237 g"."""
    request: Dict[str, Any] = {"quantity": quantity, "to": to}
    for name, value in request.items():
        _text.to_bytes(value, f"\"{name}\"")
    if factors is not None:
        request["factors"] = factors
    answer: str = _finish(_buttonworth.ContextHandle().convert(_text.to_json(request)))
    return answer


@_told_of("bw_convert_array")
def convert_array(values: Any, from_unit: str, to_unit: str) -> Any:
    """Numbers in another unit. NaN and infinities pass through.

    A NumPy array, or what turns into one, gives a NumPy array of its shape; anything else that holds
    numbers gives an array.array("d").
    """
    row, results, answer = _arrays.prepare(values)
    _buttonworth.ContextHandle().convert_array(row, _text.to_bytes(from_unit, "a unit"),
                                               _text.to_bytes(to_unit, "a unit"), results)
    return answer


@_told_of("bw_schema")
def schema(name: str) -> Dict[str, Any]:
    asked = _text.to_bytes(name, "a schema's name")
    answer: Dict[str, Any] = _finish(_buttonworth.ContextHandle().schema(asked))
    return answer


@_told_of("bw_version")
def version() -> str:
    return _buttonworth.version()


def _options_text(options: Options) -> bytes:
    if options is None:
        return b""
    if isinstance(options, bytes):
        return options
    if isinstance(options, str):
        return _text.to_bytes(options, "the options")
    if isinstance(options, _Mapping):
        return _text.to_json(options)
    _text.refuse_kind("the options are a dict or JSON text", options)


def _finish(answer: _buttonworth.AnswerHandle) -> Any:
    """The value of an answer that is needed no longer."""
    value = answer.value()
    answer.close()
    return value
