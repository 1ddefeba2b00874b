"""The accessibility checker that the pages are held against, fetched once and kept by pytest."""

from __future__ import annotations

import base64
import hashlib
import io
import tarfile
import urllib.request

import pytest

AXE = "https://registry.npmjs.org/axe-core/-/axe-core-4.10.3.tgz"
AXE_SHA512 = (
    "Xm7bpRXnDSX2YE2YFfBk2FnF0ep6tmG7xPh8iHee8MIcrgq762Nkce856dYtJYLkuIoYZvGfTs/PbZhideTcEg=="
)


@pytest.fixture(scope="session")
def axe(pytestconfig: pytest.Config) -> str:
    """The script of axe-core, whose archive must be the very one whose digest stands here."""
    cache = pytestconfig.cache
    assert cache is not None
    kept = cache.mkdir("axe-core") / "axe-core-4.10.3.tgz"
    if not kept.exists():
        with urllib.request.urlopen(AXE, timeout=60) as answer:
            kept.write_bytes(answer.read())
    data = kept.read_bytes()
    digest = base64.b64encode(hashlib.sha512(data).digest()).decode()
    if digest != AXE_SHA512:
        kept.unlink()
    assert digest == AXE_SHA512
    with tarfile.open(fileobj=io.BytesIO(data)) as archive:
        member = archive.extractfile("package/axe.min.js")
        assert member is not None
        return member.read().decode("utf-8")
