"""Settings: defaults, then the file, then variables; anything mistyped is refused in words."""

from dataclasses import fields
from pathlib import Path

import pytest

from panel.core.errors import Fault, PanelError
from panel.core.names import Paper
from panel.settings import Settings, load, on_this_machine_only

ALL = """
database_url = "postgresql://panel@db/panel"
address = "https://panel.example/"
lasting_address = "https://guild.example/results"
host = "0.0.0.0"
port = 9000
proxies = 1
guild = "  The Harbour Guild "
zone = "Europe/Dublin"
language = "de"
paper = "letter"
country = "ie"
excluded_codes = ["135", "420"]
right_millimetres = 1
down_millimetres = -0.5
print_scale = 0.985
licence = "CC0-1.0"
erase_after_days = 30
log = "json"
accept_new_key = true
"""


def written(folder: Path, text: str) -> Path:
    (folder / "settings.toml").write_text(text, encoding="utf-8")
    return folder


def test_without_anything_the_defaults_hold(tmp_path):
    settings = load({}, tmp_path)
    assert settings.instance == tmp_path
    assert settings.database_url == f"sqlite:///{(tmp_path / 'panel.db').as_posix()}"
    assert settings.address == "http://127.0.0.1:8000"
    assert (settings.paper, settings.language, settings.accept_new_key) == (Paper.A4, "en", False)


def test_the_file_is_over_the_defaults(tmp_path):
    settings = load({}, written(tmp_path, ALL))
    assert settings == Settings(
        instance=tmp_path,
        database_url="postgresql://panel@db/panel",
        address="https://panel.example",
        lasting_address="https://guild.example/results",
        host="0.0.0.0",
        port=9000,
        proxies=1,
        guild="The Harbour Guild",
        zone="Europe/Dublin",
        language="de",
        paper=Paper.LETTER,
        country="ie",
        excluded_codes=("135", "420"),
        right_millimetres=1.0,
        down_millimetres=-0.5,
        print_scale=0.985,
        licence="CC0-1.0",
        erase_after_days=30,
        log="json",
        accept_new_key=True,
    )
    assert type(settings.right_millimetres) is float
    named = {line.split(" ")[0] for line in ALL.split("\n") if line}
    assert named == {field.name for field in fields(Settings)} - {"instance"}


def test_variables_are_over_the_file(tmp_path):
    environment = {
        "PANEL_PORT": "9001",
        "PANEL_PAPER": "A4",
        "PANEL_EXCLUDED_CODES": "135, 420,",
        "PANEL_ACCEPT_NEW_KEY": "no",
        "PANEL_PRINT_SCALE": "1.01",
        "PANELLING": "oak",
        "HOME": "/",
        "PANEL_TEST_POSTGRESQL": "x",
        "PANEL_REQUIRE_BROWSER": "1",
    }
    settings = load(environment, written(tmp_path, ALL))
    assert (settings.port, settings.paper, settings.print_scale) == (9001, Paper.A4, 1.01)
    assert settings.excluded_codes == ("135", "420")
    assert settings.accept_new_key is False
    assert settings.guild == "The Harbour Guild"


def test_the_folder_comes_from_the_argument_then_the_variable(tmp_path):
    named = {"PANEL_INSTANCE": str(tmp_path / "there")}
    assert load(named).instance == tmp_path / "there"
    assert load(named, tmp_path).instance == tmp_path
    assert load({}).instance == Path("instance").absolute()


@pytest.mark.parametrize(
    ("host", "address"),
    [
        ("192.168.1.20", "http://192.168.1.20:8000"),
        ("0.0.0.0", "http://localhost:8000"),
        ("::", "http://localhost:8000"),
        ("fe80::1", "http://[fe80::1]:8000"),
    ],
)
def test_an_address_that_is_not_given_follows_the_host(tmp_path, host, address):
    assert load({"PANEL_HOST": host}, tmp_path).address == address


@pytest.mark.parametrize(
    ("address", "only_here"),
    [
        ("http://127.0.0.1:8000", True),
        ("http://localhost:8000", True),
        ("http://[::1]:8000", True),
        ("http://192.168.1.20:8000", False),
        ("https://panel.example", False),
    ],
)
def test_an_address_that_no_phone_reaches_is_known(tmp_path, address, only_here):
    settings = load({"PANEL_ADDRESS": address}, tmp_path)
    assert on_this_machine_only(settings) is only_here


@pytest.mark.parametrize("name", ["PANEL_PROT", "PANEL_SECRET_KEY", "PANEL_"])
def test_a_variable_that_is_no_setting_is_refused(tmp_path, name):
    with pytest.raises(PanelError, match="does not know") as refusal:
        load({name: "8000"}, tmp_path)
    assert name in str(refusal.value)
    assert refusal.value.fault is Fault.PLACE


def test_a_line_that_is_no_setting_is_refused(tmp_path):
    with pytest.raises(PanelError, match=r"settings\.toml names a setting “prot”"):
        load({}, written(tmp_path, "prot = 8000"))
    with pytest.raises(PanelError, match="“instance”"):
        load({}, written(tmp_path, 'instance = "elsewhere"'))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ('port = "many"', "a whole number"),
        ("port = true", "a whole number"),
        ("port = 80.5", "a whole number"),
        ("port = 70000", "from 0 to 65535"),
        ("guild = 7", "a text"),
        ("print_scale = true", "a number"),
        ("print_scale = 2", "from 0.9 to 1.1"),
        ("print_scale = nan", "from 0.9 to 1.1"),
        ("right_millimetres = 200", "from -20 to 20"),
        ('paper = "a5"', "a4 or letter"),
        ('accept_new_key = "perhaps"', "true or false"),
        ('zone = "Middle/Earth"', "IANA time zone"),
        ('zone = ""', "IANA time zone"),
        ('zone = "../../etc/passwd"', "IANA time zone"),
        ('address = "panel.example"', "like http"),
        ('address = "ftp://panel.example"', "like http"),
        ('address = "http://panel.example/?a=1"', "like http"),
        ('lasting_address = "guild.example"', "like https"),
        ('lasting_address = "https://robin@guild.example/"', "like https"),
        ('excluded_codes = ["13"]', "three-digit codes"),
        ("excluded_codes = 5", "a list"),
        ("proxies = -1", "from 0 to 9"),
        ("erase_after_days = -1", "a whole number of days"),
        ('log = "loud"', "one of text, json"),
    ],
)
def test_a_wrong_value_is_refused_with_what_it_must_be(tmp_path, line, expected):
    name = line.split(" ")[0]
    with pytest.raises(PanelError, match=f"“{name}” must be .*{expected}") as refusal:
        load({}, written(tmp_path, line))
    assert f"PANEL_{name.upper()}" in str(refusal.value)


def test_a_file_that_is_no_toml_is_refused(tmp_path):
    with pytest.raises(PanelError, match="not written as TOML"):
        load({}, written(tmp_path, "port: 8000"))


def test_a_file_that_is_no_text_is_refused(tmp_path):
    (tmp_path / "settings.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(PanelError, match="cannot be read"):
        load({}, tmp_path)
