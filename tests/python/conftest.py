"""Kinds of tests."""


def pytest_configure(config):
    config.addinivalue_line("markers", "slow: takes long and leaves a smaller one of its kind; make test-all runs it")
