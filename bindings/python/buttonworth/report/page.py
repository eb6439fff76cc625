"""A page of one of the templates: style and pictures inside, nothing outside."""

from __future__ import annotations

from typing import Any, Dict

import jinja2

from . import figures

_TEMPLATES = jinja2.Environment(loader=jinja2.PackageLoader("buttonworth.report"), autoescape=True, trim_blocks=True,
                                lstrip_blocks=True, undefined=jinja2.StrictUndefined)
_TEMPLATES.filters["together"] = figures.together


def made(template: str, view: Dict[str, Any]) -> str:
    return _TEMPLATES.get_template(template).render(view)
