"""What the science raises. A bad *reading* never raises: it becomes NaN with a named reason (see `screen`)."""


class AnalyticsError(Exception):
    """Base of all errors of this package; its text is one plain sentence for the user."""


class InvalidSettings(AnalyticsError):
    """A plant file, limit or option that cannot be meant."""


class NoReference(AnalyticsError):
    """No reference period, and no way to choose one."""
