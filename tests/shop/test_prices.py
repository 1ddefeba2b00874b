"""Price files: what is read, and every kind of fault in them."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from rigmodel.errors import InputError
from rigmodel.shop.prices import Price, read_prices


def wrote(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


CSV = "id,price,per\nblade-10,19.50\nclip,0.8,each\n\ntube-2x1-4,9.80,m\n"
SEMI = "\ufeffid;price;per\r\nblade-10;19.50\r\nclip;0.8;each\r\ntube-2x1-4;9.80;m\r\n"
BARE = "blade-10,19.50\nclip,0.8\ntube-2x1-4,9.80,m\n"
YAML = "blade-10: 19.50\nclip: {price: 0.8}\ntube-2x1-4: {price: 9.80, per: m}\n"


@pytest.mark.parametrize(
    ("name", "text"), [("p.csv", CSV), ("p.csv", SEMI), ("p.txt", BARE), ("p.yaml", YAML)]
)
def test_the_same_prices_from_every_form(tmp_path: Path, name: str, text: str) -> None:
    assert read_prices(wrote(tmp_path, name, text)) == {
        "blade-10": Price(Decimal("19.50")),
        "clip": Price(Decimal("0.8")),
        "tube-2x1-4": Price(Decimal("9.80"), "m"),
    }


def test_a_price_by_length_is_rounded_to_a_hundredth() -> None:
    assert Price(Decimal("9.80"), "m").of(1828.8) == Decimal("17.92")
    assert Price(Decimal("3.00"), "ft").of(1828.8) == Decimal("18.00")
    assert Price(Decimal("5")).of(0.0) == Decimal("5.00")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("clip,12,50\n", "'50' is not what a price is for"),
        ("clip;12,50\n", "write"),
        ("clip,-1\n", "'-1' is not a price"),
        ("clip,$3\n", "'$3' is not a price"),
        ("clip,1e3\n", "'1e3' is not a price"),
        ("clip,NaN\n", "'NaN' is not a price"),
        ("clip,\n", "'' is not a price"),
        ("clip\n", "has 1 columns"),
        (",3\n", "an id is missing"),
        ("clip,3\nclip,4\n", "two prices"),
        ("clip,3,dozen\n", "each, m or ft"),
        ('clip,"3\n', "not CSV"),
    ],
)
def test_faults_in_csv_name_their_line(tmp_path: Path, text: str, told: str) -> None:
    text = text.replace(";12,50", ';"12,50"') if told == "write" else text
    told = "12.50" if told == "write" else told
    with pytest.raises(InputError) as caught:
        read_prices(wrote(tmp_path, "p.csv", text))
    assert told in str(caught.value)
    assert caught.value.faults[0].line >= 1


@pytest.mark.parametrize(
    "text", ["clip: [1]\n", "clip: {cost: 3}\n", "clip: {per: m}\n", "clip:\n"]
)
def test_faults_in_yaml_name_their_line(tmp_path: Path, text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_prices(wrote(tmp_path, "p.yaml", text))
    assert caught.value.faults[0].line == 1


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_prices(wrote(tmp_path, "p.csv", "a,x\nb,2\nc,y\n"))
    assert [fault.line for fault in caught.value.faults] == [1, 3]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    big, binary = tmp_path / "big.csv", tmp_path / "binary.csv"
    big.write_bytes(b"a,1\n" * 300_000)
    binary.write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path / "missing.csv", tmp_path, big, binary):
        with pytest.raises(InputError):
            read_prices(path)
