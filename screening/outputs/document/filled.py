"""A template filled with the fields of a run: every text is escaped, and a field that is not there is refused."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

from docx.opc.exceptions import PackageNotFoundError
from docxtpl import DocxTemplate
from jinja2 import StrictUndefined, TemplateError, UndefinedError
from jinja2.sandbox import SandboxedEnvironment

from screening.errors import Refused


def filled(template: Path | bytes, fields: Mapping[str, Any]) -> bytes:
    """The template with its fields replaced. Raises `Refused` naming the template and what is wrong in it."""
    name = "the shipped template" if isinstance(template, bytes) else str(template)
    environment = SandboxedEnvironment(autoescape=True, undefined=StrictUndefined)
    try:
        document = DocxTemplate(io.BytesIO(template) if isinstance(template, bytes) else str(template))
        document.render(dict(fields), jinja_env=environment, autoescape=True)
    except (PackageNotFoundError, BadZipFile, KeyError, OSError, ValueError) as error:
        raise Refused(
            f"{name}: is no Word document (docx) that can be read; 'screening report --save-template FILE' writes one"
        ) from error
    except UndefinedError as error:
        raise Refused(f"{name}: {error}; the fields are {', '.join(sorted(fields))}") from error
    except TemplateError as error:
        raise Refused(f"{name}: cannot be filled: {error}; mend the field in the template") from error
    target = io.BytesIO()
    document.save(target)
    return target.getvalue()
