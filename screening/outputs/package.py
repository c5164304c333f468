"""A package of outputs: every kind that is asked for, written together or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib import import_module
from pathlib import Path
from uuid import uuid4

from screening.decision.contents import Contents
from screening.errors import Misuse, Refused

KINDS: Mapping[str, str] = {
    "workbook": "screening.outputs.workbook",
    "page": "screening.outputs.page",
    "document": "screening.outputs.document",
    "data": "screening.outputs.data",
    "plan": "screening.outputs.pictures",
}
"""Kind of output and the module whose ``files(contents)`` gives its files: name within the package to bytes."""


def write_package(
    contents: Contents,
    folder: Path,
    only: Sequence[str] = (),
    force: bool = False,
    template: Path | None = None,
    progress: Callable[[Iterable[str]], Iterable[str]] = lambda kinds: kinds,
) -> list[Path]:
    """Write the package of a run into a folder; returns the files in the order of their names.

    ``template`` is a Word document to fill in place of the shipped one.

    Raises `Misuse` for an unknown kind and `Refused` where a file is there already (unless ``force``) or the folder cannot be
    written. All is made in a folder beside the target first, so that a package that fails leaves nothing behind.
    """
    for kind in only:
        if kind not in KINDS:
            raise Misuse(f"--only {kind}: is unknown; known are {', '.join(KINDS)}")
    made: dict[str, bytes] = {}
    for kind in progress([kind for kind in KINDS if not only or kind in only]):
        options = {"template": template} if kind == "document" else {}
        made |= import_module(KINDS[kind]).files(contents, **options)
    return put(folder, made, force)


def refuse_overwriting(folder: Path, names: Iterable[str], force: bool) -> None:
    """Raises `Refused` where one of the files is there already, unless ``force``."""
    there = sorted(name for name in names if (folder / name).exists())
    if there and not force:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        raise Refused(f"{folder / there[0]}: is there already{more}; name another folder with --to, or say --force to replace")


def put(folder: Path, made: Mapping[str, bytes], force: bool) -> list[Path]:
    """Write files into a folder, all or none. Raises `Refused` as `write_package` does."""
    refuse_overwriting(folder, made, force)
    beside = folder.parent / f".{folder.name}.{uuid4().hex}"
    try:
        for name, content in made.items():
            path = beside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        if not folder.exists():
            os.replace(beside, folder)
        else:
            for name in made:
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                os.replace(beside / name, folder / name)
    except OSError as error:
        raise Refused(f"{folder}: cannot be written ({error.strerror}); name a folder in which you may write") from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return [folder / name for name in sorted(made)]
