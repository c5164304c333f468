"""What a person can put right. Everything else that is raised is a fault of the tool."""


class Refused(Exception):
    """The request was refused and nothing was written; the message says what, where and what to do."""


class Misuse(Refused):
    """The words of the command do not make sense together (exit status 2)."""
