"""Rows of doubles of any kind. NumPy is used where an array of it comes in, and imported for draws alone."""

from __future__ import annotations

import sys
from array import array
from typing import Any, List, Tuple

from . import _buttonworth, _text


def prepare(values: Any) -> Tuple[Any, Any, Any]:
    """The values as one row of doubles, a row for as many results, and what the caller gets of it."""
    numpy = sys.modules.get("numpy")
    if numpy is not None and hasattr(values, "__array__"):
        return _of_numpy(numpy, values)
    row = _row(values)
    results = array("d", bytes(8 * len(row)))
    return row, results, results


def _of_numpy(numpy: Any, values: Any) -> Tuple[Any, Any, Any]:
    whole = numpy.asarray(values)
    if whole.dtype.kind not in "fiu":
        _buttonworth.refuse("", f"an array of numbers is wanted here, not of {whole.dtype}")
    results = numpy.empty(whole.shape)
    return numpy.ascontiguousarray(whole, dtype=numpy.float64).reshape(-1), results.reshape(-1), results


def _row(values: Any) -> Any:
    if isinstance(values, (str, bytes, bytearray)):
        _text.refuse_kind("numbers are wanted here", values)
    try:
        view = memoryview(values)
    except TypeError:
        return _numbers(values)
    if view.ndim != 1:
        _buttonworth.refuse("", f"one row of numbers is wanted here, not {view.ndim} dimensions")
    return view if view.format == "d" else _numbers(values)


def _numbers(values: Any) -> Any:
    try:
        return array("d", iter(values))
    except (TypeError, NotImplementedError) as error:
        _buttonworth.refuse("", f"numbers are wanted here: {error}")


def of_bytes(doubles: bytearray) -> Any:
    """The doubles, which are taken over and not copied, as NumPy has them; else as an array."""
    try:
        import numpy
    except ImportError:
        return array("d", doubles)
    return numpy.frombuffer(doubles)


def columns(arguments: Tuple[Any, ...]) -> Tuple[Any, Any, Any]:
    """Columns of one length, one after the other in a row; a row for the results; what the caller gets of it.

    Single numbers stand for every row. NumPy's arrays are broadcast against each other.
    """
    numpy = sys.modules.get("numpy")
    if numpy is not None and any(hasattr(one, "__array__") for one in arguments):
        return _columns_of_numpy(numpy, arguments)
    rows = [[one] if isinstance(one, (int, float)) else _row(one) for one in arguments]
    length = next((len(row) for row in rows if len(row) != 1), min(len(rows), 1))
    whole = array("d")
    for row in rows:
        if len(row) not in (1, length):
            _buttonworth.refuse("", f"columns of {len(row)} and of {length} numbers do not go together")
        whole.extend(_numbers(row) * (length if len(row) == 1 else 1))
    answer = array("d", bytes(8 * length))
    return whole, answer, answer


def lots(numbers: Tuple[Any, ...], routes: int) -> Tuple[Any, List[Any], List[Any]]:
    """Columns of one length, one after the other in a row; rows for means and deviations by lot and route; what the
    caller gets of these, of NumPy's columns arrays of two dimensions.
    """
    whole, rows, answer = columns(numbers)
    if getattr(answer, "ndim", 1) > 1:
        _buttonworth.refuse("", f"a column is one row of numbers, not {answer.ndim} dimensions")
    if isinstance(rows, array):
        places = [array("d", bytes(8 * len(rows) * routes)) for _ in range(2)]
        return whole, places, places
    tables = [sys.modules["numpy"].empty((len(rows), routes)) for _ in range(2)]
    return whole, [table.reshape(-1) for table in tables], tables


def _columns_of_numpy(numpy: Any, arguments: Tuple[Any, ...]) -> Tuple[Any, Any, Any]:
    for one in arguments:
        if numpy.asarray(one).dtype.kind not in "fiu":
            _buttonworth.refuse("", f"numbers are wanted here, not {numpy.asarray(one).dtype}")
    try:
        shape = numpy.broadcast_shapes(*(numpy.shape(one) for one in arguments))
    except ValueError:
        shapes = " and of ".join(str(numpy.shape(one)) for one in arguments)
        _buttonworth.refuse("", f"arrays of {shapes} do not go together")
    whole = numpy.empty((len(arguments), *shape))
    for row, one in zip(whole, arguments):
        row[...] = one
    results = numpy.empty(shape)
    return whole.reshape(-1), results.reshape(-1), results
