"""The same stores as for the services."""

from tests.services.conftest import described, described_place

__all__ = ["described", "described_place"]
