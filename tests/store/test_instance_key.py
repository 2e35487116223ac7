"""The instance key: made once, kept for its owner, and never silently another."""

import os
import secrets
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from panel.core.errors import Fault, PanelError
from panel.store.instance_key import FILE, fingerprint, instance_key


def test_it_is_made_once_and_stays(tmp_path):
    first = instance_key(tmp_path, secrets.token_bytes)
    assert len(first) == 32
    assert instance_key(tmp_path, secrets.token_bytes) == first
    assert (tmp_path / FILE).read_text(encoding="ascii") == first.hex() + "\n"
    assert os.listdir(tmp_path) == [FILE]  # noqa: PTH208


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps no mode bits")
def test_only_its_owner_reads_it(tmp_path):
    instance_key(tmp_path, secrets.token_bytes)
    assert (tmp_path / FILE).stat().st_mode & 0o777 == 0o600


def test_all_that_start_at_once_have_one_key(tmp_path):
    with ThreadPoolExecutor(8) as threads:
        made = [threads.submit(instance_key, tmp_path, secrets.token_bytes) for _ in range(24)]
        assert len({one.result() for one in made}) == 1


def test_where_a_file_system_has_no_links_it_is_made_all_the_same(tmp_path, monkeypatch):
    def no_links(_source, _target):
        raise PermissionError("this memory stick has no links")

    monkeypatch.setattr(os, "link", no_links)
    first = instance_key(tmp_path, secrets.token_bytes)
    assert instance_key(tmp_path, secrets.token_bytes) == first
    assert os.listdir(tmp_path) == [FILE]  # noqa: PTH208


def test_a_missing_folder_is_refused_in_words(tmp_path):
    with pytest.raises(PanelError, match=r"no folder .*PANEL_INSTANCE") as refusal:
        instance_key(tmp_path / "nowhere", secrets.token_bytes)
    assert refusal.value.fault is Fault.PLACE
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("where", ["access", "open"])
def test_a_folder_that_cannot_be_written_is_refused_in_words(tmp_path, monkeypatch, where):
    """Played, for the superuser may write everywhere: first as the system tells it beforehand,
    then as it turns out."""
    if where == "access":
        monkeypatch.setattr(os, "access", lambda _path, _mode: False)
    else:
        monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(PanelError, match="cannot write into the folder") as refusal:
        instance_key(tmp_path, secrets.token_bytes)
    assert refusal.value.fault is Fault.PLACE
    monkeypatch.undo()
    assert os.listdir(tmp_path) == []  # noqa: PTH208


def refuse(*_given):
    raise OSError(30, "Read-only file system")


@pytest.mark.parametrize("words", ["", "abcd", "zz" * 32, "00" * 31, "00" * 33, "\xff\xfe"])
def test_a_damaged_file_is_refused_and_kept(tmp_path, words):
    (tmp_path / FILE).write_text(words, encoding="latin-1")
    with pytest.raises(PanelError, match="damaged"):
        instance_key(tmp_path, secrets.token_bytes)
    assert (tmp_path / FILE).read_text(encoding="latin-1") == words


def test_a_fingerprint_tells_keys_apart_and_is_no_part_of_them():
    keys = [bytes([number]) * 32 for number in range(50)]
    assert len({fingerprint(key) for key in keys}) == 50
    assert all(bytes.fromhex(fingerprint(key)) not in key for key in keys)
