"""All pages, by audience: what the application registers, guarded as core.visibility says."""

from flask import Blueprint

from panel.web import door, pourer, public, steward, taster

BLUEPRINTS: tuple[Blueprint, ...] = (
    public.pages,
    door.pages,
    taster.pages,
    steward.pages,
    pourer.pages,
)
