"""The text by which answers are stored and compared, held against Python's own json, by which earlier stores wrote it."""

import json

from hypothesis import given
from hypothesis import strategies as st

from screening.decision.answer import dump

TEXTS = st.text(st.characters(exclude_categories=("Cs",)))
WHOLE = st.integers(-(2**63), 2**63 - 1)
DOCUMENTS = st.recursive(
    st.none() | st.booleans() | WHOLE | TEXTS,
    lambda inner: st.lists(inner) | st.lists(inner).map(tuple) | st.dictionaries(TEXTS, inner),
)


@given(DOCUMENTS)
def test_the_same_text_as_ever(document: object) -> None:
    assert dump(document) == json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert json.loads(dump(document)) == json.loads(json.dumps(document))
