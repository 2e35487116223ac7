"""All of the organiser's pages."""

from flask import Blueprint

from panel.web import (
    organiser,
    organiser_check,
    organiser_emergency,
    organiser_findings,
    organiser_foretaste,
    organiser_links,
    organiser_print,
    organiser_printer,
    organiser_question,
    organiser_recover,
    organiser_settle,
    organiser_showing,
    organiser_sittings,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    organiser.pages,
    organiser_question.pages,
    organiser_sittings.pages,
    organiser_check.pages,
    organiser_foretaste.pages,
    organiser_print.pages,
    organiser_printer.pages,
    organiser_links.pages,
    organiser_emergency.pages,
    organiser_recover.pages,
    organiser_settle.pages,
    organiser_findings.pages,
    organiser_showing.pages,
)
