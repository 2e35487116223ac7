"""What stands nowhere in the program: code from text, foreign formats that run, calls to others,
text that skips escaping; and columns for what nobody may keep of a taster.

OWASP Application Security Verification Standard 5.0.0: 1.2.1, 1.2.4, 1.2.5, 1.3.2, 1.3.6, 1.5.2.
"""

import ast
import re

import pytest

from panel.store.tables import Base
from tests.structure.checkout import text_of, tracked

CALLS = {"eval", "exec", "compile", "__import__", "system", "popen", "Markup"}
MODULES = {
    "ftplib", "http.client", "httpx", "marshal", "pickle", "requests", "shelve",
    "smtplib", "telnetlib", "urllib.request", "urllib3", "xml", "yaml",
}  # fmt: skip
ALLOWED = {
    ("panel/web/language.py", "Markup"),  # a drawing of ours, whose texts were escaped
    ("panel/publishing/page.py", "Markup"),
    # Pages of ours within a page, escaped where they were written.
    ("panel/publishing/static_page.py", "Markup"),
    ("panel/web/field_names.py", "Markup"),
    ("panel/web/organiser_findings.py", "Markup"),
    ("panel/web/public.py", "Markup"),
    # From the service to the process that it has started itself, through a pipe of theirs; what
    # comes back, and may be of a file's making, is JSON: the next test.
    ("panel/scanning/apart.py", "pickle"),
    ("panel/scanning/child.py", "pickle"),
}
UNESCAPED = re.compile(r"\|\s*safe\b|autoescape\s+false|\bMarkup\b")
INTO_A_PAGE = re.compile(
    r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|Function\("
)
INTO_A_PAGE_LINE = re.compile(r".*innerHTML.*")
PRIVATE = re.compile(r"birth|born|health|medic|allerg|pregnan|gender|e_?mail|phone_number|address")


def banned(path: str, text: str) -> list[str]:
    """Calls and imports that a module may not have."""
    found: list[str] = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            pattern = getattr(getattr(node.func, "value", None), "id", "") == "re"  # re.compile
            if name in CALLS and not pattern and (path, name) not in ALLOWED:
                found.append(f"{path}:{node.lineno} {name}")
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        found += [
            f"{path}:{node.lineno} {name}"
            for name in names
            if outlawed(name) and (path, name) not in ALLOWED
        ]
    return found


def outlawed(name: str) -> bool:
    return any(name == one or name.startswith(f"{one}.") for one in MODULES)


def test_no_module_runs_text_or_calls_others() -> None:
    modules = [path for path in tracked("panel") if path.endswith(".py")]
    assert [line for path in modules for line in banned(path, text_of(path))] == []


def test_the_service_unpickles_nothing_and_the_reader_only_what_the_service_says() -> None:
    service, reader = (text_of(f"panel/scanning/{name}.py") for name in ("apart", "child"))
    assert re.findall(r"pickle\.\w+", service) == ["pickle.dumps"]
    assert re.findall(r"pickle\.\w+", reader) == ["pickle.loads"]
    assert "pickle.loads(self.into.read(length))" in reader


@pytest.mark.parametrize(
    "text", ["eval(x)", "import pickle", "from urllib.request import urlopen", "os.system(x)",
             "import requests", "from xml.etree import ElementTree", "Markup(x)"],
)  # fmt: skip
def test_a_breach_is_seen(text: str) -> None:
    assert len(banned("panel/planted.py", text)) == 1


def test_no_template_skips_escaping() -> None:
    pages = [path for path in tracked("panel") if path.endswith(".html")]
    assert len(pages) > 20
    assert [path for path in pages if UNESCAPED.search(text_of(path))] == []
    assert UNESCAPED.search("{{ name|safe }}")


def test_no_script_writes_markup_into_a_page() -> None:
    scripts = [path for path in tracked("panel") if path.endswith(".js")]
    assert scripts
    found = [path for path in scripts if INTO_A_PAGE.search(text_of(path))]
    # The tally of an evening: a piece of our own page, escaped where it was made.
    assert found == ["panel/web/static/organiser.js"]
    (line,) = INTO_A_PAGE_LINE.findall(text_of(found[0]))
    assert "place.innerHTML = piece" in line


def test_no_statement_is_put_together_from_what_was_typed() -> None:
    """Where text() is given more than a constant, only names of tables of ours go in."""
    built = re.compile(r"\btext\(\s*f[\"']([^\"']*)")
    found = {
        part
        for path in tracked("panel")
        if path.endswith(".py") and path.startswith("panel/store")
        for part in built.findall(text_of(path))
    }
    assert found <= {
        "SELECT 1 FROM {table}",
        "DROP TABLE IF EXISTS {table} CASCADE",
        "DROP FUNCTION {name}",
        "SHOW {name}",
    }


def test_no_column_holds_what_nobody_may_keep_of_a_taster() -> None:
    """No birth date, health, allergy, e-mail or address: a nickname at most, which may be empty."""
    tables = Base.metadata.tables.items()
    columns = [f"{name}.{one.name}" for name, table in tables for one in table.c]
    assert [one for one in columns if PRIVATE.search(one)] == []
    assert PRIVATE.search("person.birth_date")
