"""Options of the whole suite."""

from hypothesis import settings

# How long an example takes says more about the machine than about us.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


def pytest_addoption(parser):
    parser.addoption(
        "--update-golden",
        action="store_true",
        help="write the golden files anew from what the pages show now; look at the difference",
    )
