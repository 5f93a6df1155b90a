"""What the science raises. A bad *reading* never raises: it becomes NaN with a named reason (see `screen`)."""


class AnalyticsError(Exception):
    """Base of all errors of this package; its text is one plain sentence for the user."""


class InvalidSettings(AnalyticsError):
    """A plant file, limit or option that cannot be meant."""


class NoReference(AnalyticsError):
    """No reference period, and no way to choose one."""


class NotEnoughData(AnalyticsError):
    """The question needs more data than there are.

    Parameters
    ----------
    what : str
        What is counted, in plain words, such as "days with usable readings".
    needed, found : int
        How many are needed and how many there are. [-]
    """

    def __init__(self, what: str, *, needed: int, found: int) -> None:
        super().__init__(f"{needed} {what} are needed, {found} were found")
        self.needed = needed
        self.found = found
