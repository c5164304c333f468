"""The closure assessment section as a Word document, filled into a template that the user can replace."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from screening.outputs.document.blocks import put_blocks
from screening.outputs.document.fields import BLOCKS, fields
from screening.outputs.document.filled import filled
from screening.outputs.document.template import shipped
from screening.outputs.document.zipped import opened, zipped

if TYPE_CHECKING:
    from screening.decision.contents import Contents

NAME = "document.docx"


def files(contents: Contents, template: Path | None = None) -> Mapping[str, bytes]:
    """The document as one file, from the shipped template or another. Raises `Refused` for a template that cannot be filled."""
    document = opened(filled(shipped() if template is None else template, fields(contents)))
    put_blocks(document, BLOCKS, contents)
    return {NAME: zipped(document, contents)}
