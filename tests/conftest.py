"""Options of the whole suite."""


def pytest_addoption(parser):
    parser.addoption(
        "--update-golden",
        action="store_true",
        help="write the golden files anew from what the pages show now; look at the difference",
    )
