"""The same page as a PDF.

By WeasyPrint: Debian 12 has it, it makes the PDF of the very HTML that is shown, so there is one template and one set
of words, the text can be searched and copied, the pictures stay lines and letters, and it needs no browser and no
display. Matplotlib's own PDF pages would have wanted all text and tables set a second time by hand."""

from __future__ import annotations

from . import _needs


def of(html: str) -> bytes:
    _needs.require(_needs.PDF, "the report's PDF")
    import weasyprint  # only now: whoever wants the page alone does without

    made: bytes = weasyprint.HTML(string=html, url_fetcher=_nothing_outside).write_pdf()
    return made


def _nothing_outside(url: str, *_: object, **__: object) -> "dict[str, object]":
    raise ValueError(f"the page points outside itself: {url}")
