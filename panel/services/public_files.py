"""The files beside a published result: what was sealed, the plan, the findings, every code.

The same files that the static folder holds, so that whoever checks one has checked the other.
"""

from collections.abc import Callable, Mapping

from panel.core.errors import Fault, PanelError
from panel.core.message import Speak, say
from panel.core.names import Standing
from panel.publishing.page import Links
from panel.publishing.static_page import BUNDLE, PICTURE, REPORT, static_contents
from panel.services.publish import public_page
from panel.services.show_result import opened_seal
from panel.services.tally import opened_of
from panel.services.workplace import Workplace


def links(address: Callable[[str], str], lasting: str = "") -> Links:
    """Links to the files; `address` gives the address of a file's name, `lasting` is where the
    result stays."""
    return Links(
        sealed=address("sealed.json"),
        plan=address("plan.json"),
        findings=address("findings.json"),
        codes=address("codes.html"),
        bundle=address(BUNDLE),
        report=address(REPORT),
        picture=address(PICTURE),
        lasting=lasting,
    )


def public_files(at: Workplace, slug: str, speak: Speak, language: str) -> Mapping[str, bytes]:
    """Every file by its name; PanelError (fault MISSING) before publication."""
    known = public_page(at, slug).comparison
    if known.standing is not Standing.PUBLISHED:
        raise PanelError(
            "not-published",
            say("The result is not published yet, and nothing of it can be fetched before."),
            Fault.MISSING,
        )
    with at.units.read() as session:
        opened = opened_of(session, known)
    return static_contents(
        opened.result,
        opened.comparison,
        opened=opened_seal(opened),
        speak=speak,
        language=language,
    )
