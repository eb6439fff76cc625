"""The calls of the C API that these tests need, by ctypes."""

from __future__ import annotations

import ctypes
import json
import sys
from typing import Callable, Optional

POINTER, STATUS, SIZE = ctypes.c_void_p, ctypes.c_int32, ctypes.c_size_t
OUT, TEXT = ctypes.POINTER(ctypes.c_void_p), ctypes.c_char_p
PROGRESS = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_int64, ctypes.c_int64)
CANCELLED = 501


class Refused(Exception):
    """A call's error; `status` is its code."""

    def __init__(self, status: int, text: str):
        super().__init__(f"{status}: {text}")
        self.status = status


def declare(library: ctypes.CDLL, *functions: tuple) -> None:
    for name, result, arguments in functions:
        function = getattr(library, name)
        function.restype, function.argtypes = result, arguments


class Library:
    def __init__(self, core: str, schedule: str):
        self.c, self.s = ctypes.CDLL(core), ctypes.CDLL(schedule)
        on_plan = [POINTER, POINTER, TEXT, SIZE, OUT]
        declare(self.c, ("bw_context_create", STATUS, [OUT]), ("bw_context_destroy", None, [OUT]),
                ("bw_error_text", TEXT, [POINTER]), ("bw_cancel", None, [POINTER]),
                ("bw_set_progress", STATUS, [POINTER, PROGRESS, POINTER]),
                ("bw_plan_read", STATUS, [POINTER, TEXT, SIZE, OUT]), ("bw_plan_destroy", None, [OUT]),
                ("bw_compare", STATUS, on_plan), ("bw_simulate", STATUS, on_plan),
                ("bw_answer_text", TEXT, [POINTER, ctypes.POINTER(SIZE)]), ("bw_answer_destroy", None, [OUT]))
        declare(self.s, ("bw_allocate", STATUS, [POINTER, TEXT, SIZE, OUT]))
        self.context = POINTER()
        self.check(self.c.bw_context_create(ctypes.byref(self.context)))

    def check(self, status: int) -> None:
        if status != 0:
            raise Refused(status, (self.c.bw_error_text(self.context) or b"").decode())

    def taken(self, answer: ctypes.c_void_p) -> str:
        text = self.c.bw_answer_text(answer, None).decode()
        self.c.bw_answer_destroy(ctypes.byref(answer))
        return text

    def allocate_text(self, request: dict) -> str:
        text, answer = json.dumps(request).encode(), POINTER()
        self.check(self.s.bw_allocate(self.context, text, len(text), ctypes.byref(answer)))
        return self.taken(answer)

    def allocate(self, request: dict, **more) -> dict:
        return json.loads(self.allocate_text({**request, **more}))

    def on_plan(self, call: str, plan: dict, options: dict) -> dict:
        text, wish = json.dumps(plan).encode(), json.dumps(options).encode()
        read, answer = POINTER(), POINTER()
        self.check(self.c.bw_plan_read(self.context, text, len(text), ctypes.byref(read)))
        try:
            self.check(getattr(self.c, call)(self.context, read, wish, len(wish), ctypes.byref(answer)))
            return json.loads(self.taken(answer))
        finally:
            self.c.bw_plan_destroy(ctypes.byref(read))

    def compare(self, plan: dict, **options) -> dict:
        return self.on_plan("bw_compare", plan, {"how": False, **options})

    def simulate(self, plan: dict, **options) -> dict:
        return self.on_plan("bw_simulate", plan, options)

    def watched(self, request: dict, told: Optional[Callable[[int, int], None]]) -> dict:
        """With a progress callback; None cancels nothing and hears nothing."""
        callback = PROGRESS((lambda _, done, total: told(done, total)) if told else 0)
        self.check(self.c.bw_set_progress(self.context, callback, None))
        try:
            return self.allocate(request)
        finally:
            self.check(self.c.bw_set_progress(self.context, PROGRESS(0), None))

    def cancel(self) -> None:
        self.c.bw_cancel(self.context)


def from_arguments() -> Library:
    """The two libraries named first on the command line; the rest of it is the test's own."""
    return Library(sys.argv.pop(1), sys.argv.pop(1))
