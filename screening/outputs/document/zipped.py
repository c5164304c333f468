"""Word documents opened from bytes and written as the same bytes for the same content."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import TYPE_CHECKING, Any

import docx

from screening.outputs.texts import readable

if TYPE_CHECKING:
    from screening.decision.contents import Contents

_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a zip file can hold."""


def opened(data: bytes) -> Any:
    """A document from its bytes."""
    return docx.Document(io.BytesIO(data))


def zipped(document: Any, contents: Contents | None = None) -> bytes:
    """The bytes of a document, with fixed times; with contents it says of which run it is."""
    about = document.core_properties
    about.author, about.last_modified_by, about.revision = "screening", "screening", 1
    about.created = about.modified = dt.datetime(2000, 1, 1)
    if contents is not None:
        answer = contents.answer
        about.title = readable(f"Closure assessment: {answer['site_name']}", 200)
        about.subject = f"run {answer['run']}, data state {answer['data']}"
        about.comments = answer["recommendation"]["caution"][:255]
        about.created = about.modified = dt.datetime.combine(contents.today, dt.time())
    written = io.BytesIO()
    document.save(written)
    return _timeless(written.getvalue())


def _timeless(data: bytes) -> bytes:
    """The same archive with every file dated alike."""
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        for name in source.namelist():
            entry = zipfile.ZipInfo(name, _EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            made.writestr(entry, source.read(name))
    return target.getvalue()
