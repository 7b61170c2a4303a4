"""What the service counts. Labels are methods, path templates and status codes: no ids, no names, no words."""

import os

from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

SHARED = "PROMETHEUS_MULTIPROC_DIR"
"""The library's variable: the folder in which several worker processes add up."""
BUCKETS_S = (0.005, 0.01, 0.025, 0.05, 0.1, 0.15, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)


class Metrics:
    """The counters of one app."""

    content_type = CONTENT_TYPE_LATEST

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self._requests = Counter(
            "zonule_requests", "Requests answered.", ("method", "route", "status"), registry=self._registry
        )
        self._seconds = Histogram(
            "zonule_request_seconds",
            "Seconds until the answer began.",
            ("method", "route"),
            registry=self._registry,
            buckets=BUCKETS_S,
        )
        self._readings = Histogram(
            "zonule_reading_seconds", "Seconds for one reading.", registry=self._registry, buckets=BUCKETS_S
        )
        self._logins = Counter("zonule_logins", "Attempts to sign in.", ("outcome",), registry=self._registry)

    def count_request(self, method: str, route: str, status: int, seconds: float) -> None:
        """One answered request."""
        self._requests.labels(method, route, str(status)).inc()
        self._seconds.labels(method, route).observe(seconds)

    def count_reading(self, seconds: float) -> None:
        """One reading."""
        self._readings.observe(seconds)

    def count_login(self, outcome: str) -> None:
        """One attempt to sign in: `done`, `refused` or `throttled`."""
        self._logins.labels(outcome).inc()

    def text(self) -> bytes:
        """All counters in the Prometheus text format, over all worker processes."""
        if os.environ.get(SHARED):
            shared = CollectorRegistry()
            MultiProcessCollector(shared)  # type: ignore[no-untyped-call]
            return generate_latest(shared)
        return generate_latest(self._registry)
