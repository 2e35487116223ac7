"""Links for those who carry, pour and keep the key: each works once, on one phone."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.core.names import Role
from panel.services import invite, link_code, plan_comparison
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at
from panel.web.reach import reach

pages = Blueprint(
    "organiser_links",
    __name__,
    url_prefix="/organise/<id:comparison>/sittings/<id:sitting>/links",
)

ROLES: dict[Role, tuple[Message, Message, Message]] = {
    Role.STEWARD: (
        say("Steward"),
        say("A link for a steward"),
        say("Hands out trays, takes cards back, keys ballots in. Sees codes only."),
    ),
    Role.POURER: (
        say("Pourer"),
        say("A link for a pourer"),
        say("Sees which jug goes into which cup, and stays behind the door."),
    ),
    Role.KEY_HOLDER: (
        say("Key holder"),
        say("A link for the key holder"),
        say(
            "Prints what shows which cup is which and keeps it, may close and unseal. Has a name "
            "and password of their own; neither pours nor serves nor tastes."
        ),
    ),
}
"""Each role's name, the title of its link's page, and what it is for."""


def show_links(typed: Typed, comparison: str, sitting: str, **_route: str) -> str:
    """Every link of a sitting, and the buttons that make one."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    links = invite.invited(at(), actor(), comparison)
    return render_template(
        "organiser/links.html",
        typed=typed,
        known=known,
        reach=reach(),
        sitting=plan_comparison.sitting_of(known, sitting),
        links=[link for link in links if link.sitting == sitting],
        roles=[(role, title, words) for role, (_, title, words) in ROLES.items()],
        names={role: name for role, (name, _, _) in ROLES.items()},
        now=at().now(),
        steps=steps_of(progress_of(at(), actor(), known)),
        here="sitting",
    )


@pages.get("")
def page(comparison: str, sitting: str) -> ResponseReturnValue:
    """Who has been invited so far."""
    return show_links(FRESH, comparison, sitting)


@pages.post("")
@refill(show_links)
def make(comparison: str, sitting: str) -> ResponseReturnValue:
    """Makes a link and shows it, this once: only its hash is kept."""
    role = _role()
    token = invite.invite(at(), actor(), comparison, sitting, role)
    address = at().settings.address + url_for("door.pass_page", token=token)
    known = plan_comparison.comparison(at(), actor(), comparison)
    return render_template(
        "organiser/link.html",
        title=ROLES[role][1],
        known=known,
        sitting=plan_comparison.sitting_of(known, sitting),
        address=address,
        code=link_code.drawn(address),
        steps=steps_of(progress_of(at(), actor(), known)),
        here="sitting",
    )


@pages.post("/<id:link>/revoke")
@refill(show_links)
def revoke(comparison: str, sitting: str, link: str) -> ResponseReturnValue:
    """Lets a link, and the pass it opened, work no more."""
    invite.revoke(at(), actor(), comparison, link)
    return redirect(url_for(".page", comparison=comparison, sitting=sitting))


def _role() -> Role:
    typed = request.form.get("role", "")
    for role in ROLES:
        if role == typed:
            return role
    raise PanelError("no-role", say("Say whom the link is for."), field="role")
