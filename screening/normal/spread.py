"""Work done once for each distinct text and spread back over the rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pandas as pd

_BETWEEN = "\x1f"


def spread(columns: Sequence[pd.Series], read: Callable[..., Any], names: Sequence[str]) -> pd.DataFrame:
    """Call ``read`` once for each distinct combination of texts and give each row the attributes ``names``.

    >>> spread([pd.Series(["a", "a"])], lambda text: slice(text), ["stop"])["stop"].tolist()
    ['a', 'a']
    """
    joined = columns[0]
    for column in columns[1:]:
        joined = joined + _BETWEEN + column
    codes, distinct = pd.factorize(joined)
    read_once = [read(*text.split(_BETWEEN)) for text in distinct]
    index = columns[0].index
    taken = {}
    for name in names:
        values = pd.Series([getattr(item, name) for item in read_once], dtype=object)
        taken[name] = pd.Series(values.to_numpy()[codes] if len(values) else [], index=index, dtype=object)
    return pd.DataFrame(taken, index=index)
