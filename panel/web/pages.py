"""All pages, by audience: what the application registers, guarded as core.visibility says."""

from flask import Blueprint

from panel.web import (
    door,
    door_password,
    keeper,
    organiser_pages,
    pourer,
    public,
    public_archive,
    public_health,
    public_privacy,
    steward,
    steward_photos,
    steward_review,
    steward_sheet,
    taster,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    public.pages,
    public_archive.pages,
    public_health.pages,
    public_privacy.pages,
    door.pages,
    door_password.pages,
    taster.pages,
    steward.pages,
    steward_photos.pages,
    steward_review.pages,
    steward_sheet.pages,
    pourer.pages,
    keeper.pages,
    *organiser_pages.BLUEPRINTS,
)
