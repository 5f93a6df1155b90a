"""What this process counts, for Prometheus. Nothing here names a person, a site or a train."""

from collections.abc import Iterator
from contextlib import contextmanager

from prometheus_client import GCCollector, PlatformCollector, ProcessCollector, generate_latest
from prometheus_client.metrics import Counter, Histogram
from prometheus_client.registry import CollectorRegistry

REGISTRY = CollectorRegistry()
for _collector in (ProcessCollector, PlatformCollector, GCCollector):
    _collector(registry=REGISTRY)

REQUESTS = Counter("skidbook_requests_total", "Requests answered.", ["method", "route", "status"], registry=REGISTRY)
REQUEST_SECONDS = Histogram(
    "skidbook_request_seconds", "Seconds until a request was answered.", ["method", "route"], registry=REGISTRY,
    buckets=(0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60),
)  # fmt: skip
IMPORTS = Counter("skidbook_imports_total", "Imports of files.", ["outcome"], registry=REGISTRY)
READINGS = Counter("skidbook_readings_stored_total", "Readings stored.", ["source"], registry=REGISTRY)
ASSESSMENT_SECONDS = Histogram(
    "skidbook_assessment_seconds", "Seconds that an assessment of a train took.", registry=REGISTRY,
    buckets=(0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60, 300),
)  # fmt: skip
DATABASE_ERRORS = Counter("skidbook_database_errors_total", "Faults of the database.", ["kind"], registry=REGISTRY)


@contextmanager
def timed_assessment() -> Iterator[None]:
    """Measure how long an assessment takes."""
    with ASSESSMENT_SECONDS.time():
        yield


def as_text() -> bytes:
    """All of it, in the text format of Prometheus."""
    return generate_latest(REGISTRY)
