"""The newest results as a ward doctor reads them, as plain values for every door."""

from datetime import datetime
from decimal import Decimal

from weatherglass.model.numbers.quantities import Unit, as_sent, unit_words
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Origin


class ResultThen(Plain, frozen=True):
    """One result and when it was taken.

    Attributes:
        value: The number in its canonical unit, None where only an interval is known.
        shown: The number as it is said: "131", "< 4".
    """

    value: Decimal | None
    shown: str
    at: datetime
    origin: Origin


class LatestResult(Plain, frozen=True):
    """The newest of one kind of result, and what it is read against.

    Attributes:
        key: Key of the signal ("haemoglobin").
        name: Its short name; of a gas with the vessel, of a potassium whether it is of a gas.
        unit: The unit of the numbers.
        previous: The one before it of the same signal, however old; None where there is none.
        low: Lower end of the range that its sender sent with it, None where that is open or not sent.
        high: Its upper end.
        own_low: Lowest of the earlier results 8 to 365 days old, None with fewer than three.
        own_high: Their highest.
        side: "low" or "high" where it is surely outside its sender's range, else empty.
        flag: "abnormal" or "critical" where its sender said so, else empty.
    """

    key: str
    name: str
    unit: Unit
    newest: ResultThen
    previous: ResultThen | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    own_low: Decimal | None = None
    own_high: Decimal | None = None
    side: str = ""
    flag: str = ""

    @property
    def said(self) -> str:
        """The newest result with its unit: '131 g/L'."""
        return " ".join(filter(None, (self.newest.shown, unit_words(self.unit))))

    @property
    def range_words(self) -> str:
        """The range of its sender: '130-180', 'up to 5', 'from 60'; empty without one."""
        return range_words(self.low, self.high)

    @property
    def own_words(self) -> str:
        """The own range of the patient: '70-84'; empty without one."""
        return range_words(self.own_low, self.own_high)

    @property
    def mark(self) -> str:
        """What is to be seen at a glance: 'high', 'low, flagged critical'; empty where nothing is.

        Out of its range it is abnormal: a flag adds to that only where it says "critical".
        """
        flag = "" if self.side and self.flag == "abnormal" else self.flag
        return ", ".join(filter(None, (self.side, flag and f"flagged {flag}")))


class LatestResults(Plain, frozen=True):
    """The strip of the newest results.

    Attributes:
        rows: In the order in which they are read, then what else is outside its sender's range.
        not_read: Results of the last day that were sent and not read, by name, value and time.
    """

    rows: tuple[LatestResult, ...] = ()
    not_read: tuple[str, ...] = ()


def range_words(low: Decimal | None, high: Decimal | None) -> str:
    """Write a range: '130-180', 'up to 5', 'from 60'; empty without an end.

    Examples:
        >>> range_words(Decimal(130), Decimal(180)), range_words(None, Decimal(5)), range_words(None, None)
        ('130-180', 'up to 5', '')
    """
    if low is None:
        return f"up to {as_sent(high)}" if high is not None else ""
    return f"{as_sent(low)}-{as_sent(high)}" if high is not None else f"from {as_sent(low)}"
