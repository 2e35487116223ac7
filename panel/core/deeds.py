"""What can stand in the record: a closed list, so that a record never needs free words."""

from enum import StrEnum


class Deed(StrEnum):
    """One thing that somebody did."""

    # planning
    STARTED = "started"
    PLAN_SAVED = "plan-saved"
    SITTING_ADDED = "sitting-added"
    SITTING_SAVED = "sitting-saved"
    SITTING_REMOVED = "sitting-removed"
    SEALED = "sealed"
    AMENDED = "amended"
    # the kit
    SHEET_PRINTED = "sheet-printed"
    KEY_PRINTED = "key-printed"  # a sheet from which the key can be read
    KEY_SHOWN = "key-shown"  # the same on a screen
    KEY_RECOVERED = "key-recovered"  # from the envelope: instance.key or passphrase was lost
    KEY_LOCKED = "key-locked"  # the key holder put a passphrase on it
    KEY_UNLOCKED = "key-unlocked"  # and took it off
    PASSPHRASE_REFUSED = "passphrase-refused"  # somebody signed in as key holder typed another
    CARD_REPRINTED = "card-reprinted"
    # the evening
    SITTING_OPENED = "sitting-opened"
    SITTING_CLOSED = "sitting-closed"
    SITTING_CALLED_OFF = "sitting-called-off"  # it did not take place
    HANDED_OUT = "handed-out"
    TAKEN_BACK = "taken-back"
    SET_ASIDE = "set-aside"
    TASTER_NAMED = "taster-named"
    BALLOT_TAKEN = "ballot-taken"
    BALLOT_LATE = "ballot-late"
    READING_DECIDED = "reading-decided"  # a person looked at what was read from a picture
    QUESTION_SETTLED = "question-settled"
    REST_SET_ASIDE = "rest-set-aside"
    TRAY_REVEALED = "tray-revealed"  # one tray's beers: to its taster, or to others (emergency)
    # afterwards
    CLOSED = "closed"
    SHOWN_TO_ROOM = "shown-to-room"  # before it was published
    PUBLISHED = "published"
    EXPORTED = "exported"
    FORGOTTEN = "forgotten"
    # the installation
    PRINTER_CORRECTED = "printer-corrected"
    # people
    SET_UP = "set-up"
    SIGNED_IN = "signed-in"
    SIGN_IN_REFUSED = "sign-in-refused"
    SIGNED_OUT = "signed-out"
    PASSWORD_CHANGED = "password-changed"
    INVITED = "invited"
    INVITATION_ACCEPTED = "invitation-accepted"
    INVITATION_REVOKED = "invitation-revoked"
    # the machine
    BACKED_UP = "backed-up"
    RESTORED = "restored"


OF_ONE_TRAY = frozenset(
    {
        Deed.CARD_REPRINTED,
        Deed.HANDED_OUT,
        Deed.TAKEN_BACK,
        Deed.SET_ASIDE,
        Deed.TASTER_NAMED,
        Deed.BALLOT_TAKEN,
        Deed.BALLOT_LATE,
        Deed.READING_DECIDED,
        Deed.QUESTION_SETTLED,
        Deed.TRAY_REVEALED,
    }
)
"""Deeds whose line tells when one taster's tray or ballot was where: published without that."""
