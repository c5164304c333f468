"""What a person can put right. Everything else that is raised is a fault of the tool."""


class Refused(Exception):
    """The request was refused and nothing was written; the message says what, where and what to do."""


class Misuse(Refused):
    """The words of the command do not make sense together (exit status 2)."""


class Altered(Refused):
    """Something that the store keeps for ever is gone or is not what it was."""

    def __init__(self, what: str, sha256: str) -> None:
        super().__init__(
            f"{what} (fingerprint {sha256[:12]}) is not in the store as it was kept: the store was altered; take a copy from before"
        )
