"""Everything that is public says what it is."""

import inspect

import flowdoubt as fd

MODULES = [fd, *filter(inspect.ismodule, (getattr(fd, name) for name in fd.__all__))]


def documented(owner):
    """What is public in a module, and in the classes that it is open with."""
    for name in owner.__all__:
        own = getattr(owner, name)
        yield f"{owner.__name__}.{name}", own
        if not isinstance(own, type) or issubclass(own, BaseException):
            continue
        for key in filter(lambda key: not key.startswith("_"), dir(own)):
            member = inspect.getattr_static(own, key)
            yield f"{own.__name__}.{key}", getattr(member, "__func__", member)


def test_everything_public_has_a_docstring():
    found = {name: own for module in MODULES for name, own in documented(module)}
    assert len(found) > 600, "the names were found"
    plain = (str, int, float, tuple, list, dict, frozenset)
    missing = [
        name
        for name, own in found.items()
        if not isinstance(own, plain) and not inspect.getdoc(own)
    ]
    assert missing == []
