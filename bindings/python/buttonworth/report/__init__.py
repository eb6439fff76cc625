"""Reports for reading and printing: of a plan, and of a month.

    from buttonworth import report
    report.plan(open("plan.json", encoding="utf-8").read()).write("reports")

Each is a page of HTML that stands alone, without links and scripts, and a PDF of it. Wants matplotlib and Jinja2, the
PDF WeasyPrint.
"""

from __future__ import annotations

import json
import pathlib
from typing import TYPE_CHECKING, Any, Dict, List, Mapping, Optional, Union

import buttonworth

from . import _needs

if TYPE_CHECKING:
    from .answers import Answers
    from .asking import Tell

__all__ = ["Report", "month", "plan", "require_packages"]


def require_packages(with_pdf: bool = True) -> None:
    """Raises an ImportError that names all packages which a report needs and which are missing."""
    _needs.require([*_needs.PAGE, *_needs.PDF] if with_pdf else _needs.PAGE, "a report")


class Report:
    """A page, and the answers that all of its figures are from."""

    def __init__(self, html: str, answers: Answers) -> None:
        self.html = html  #: the page as text
        self.answers: Dict[str, Any] = answers.documents  #: by name: "compare", "simulate", …
        self._pdf: Optional[bytes] = None

    @property
    def pdf(self) -> bytes:
        """The page as a PDF, made when it is first asked for."""
        if self._pdf is None:
            from . import pdf

            self._pdf = pdf.of(self.html)
        return self._pdf

    def write(self, folder: Union[str, "pathlib.Path"], with_pdf: bool = True) -> List[pathlib.Path]:
        """Writes report.html and report.pdf into the folder, which is made where it is missing."""
        place = pathlib.Path(folder)
        place.mkdir(parents=True, exist_ok=True)
        files = [place / "report.html"]
        files[0].write_text(self.html, encoding="utf-8")
        if with_pdf:
            files.append(place / "report.pdf")
            files[1].write_bytes(self.pdf)
        return files


def plan(document: buttonworth.Document, options: Union[None, str, bytes, Mapping[str, Any]] = None,
         tell: Optional[Tell] = None) -> Report:
    """The report of a plan.

    options: what is not in the plan, and what to look at, by parts, as `examples/run sure` takes them: {"simulate":
    {…}, "worth": {…}, "break_even": [{…}], "counter_offers": {…}, "forgiving_cut": {…}, "sensitivity": {…}, "maps":
    [{…}]}; all may be left out. tell is called with what is asked, how many questions are done, and of how many.
    """
    require_packages(with_pdf=False)
    from . import asking, page, plan_page

    parts = asking.read_options(options)
    with buttonworth.Context() as context, context.plan(document) as read:
        answers = asking.Question(read, parts, tell).ask()
    return Report(page.made("plan.html", plan_page.view(answers)), answers)


def month(book: buttonworth.Request, returns: Optional[buttonworth.Request] = None) -> Report:
    """The report of a month: book is a request for one (buttonworth-month/1) or a book that was made already
    (buttonworth-book/1); returns a request (buttonworth-returns/1), its answer, or None."""
    require_packages(with_pdf=False)
    from . import month_page, page
    from .answers import Answers

    answers = Answers({"book": _answered(book, "buttonworth-month/1", buttonworth.book),
                       "returns": _answered(returns, "buttonworth-returns/1", buttonworth.reconcile)})
    return Report(page.made("month.html", month_page.view(answers)), answers)


def _answered(document: Any, request: str, ask: Any) -> Any:
    """The answer, asked for where a request stands here."""
    if document is None:
        return None
    read = json.loads(document) if isinstance(document, (str, bytes)) else document
    return ask(read) if read.get("format") == request else read
