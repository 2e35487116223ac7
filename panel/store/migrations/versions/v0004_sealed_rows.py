"""What the seal covers stays as it was sealed in every row, not in plan and serving alone.

Title, variable, level, drinks, sittings and codes were held by the program and by the checks of a
published result; from here on the database refuses as well, whoever writes. A sitting's standing
and the moments of its opening and closing go on changing, and a sealed comparison never goes back
to being a draft.
"""

from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

SEALED = "what is sealed cannot be changed: write an amendment"

OF_COMPARISON = (
    "id",
    "title",
    "neutral_title",
    "variable",
    "drink",
    "organised_by",
    "helpers",
    "blinding",
    "waived",
    "duties",
)
OF_SITTING = (
    "id",
    "comparison",
    "ordinal",
    "name",
    "kind",
    "information",
    "planned",
    "drawn",
    "place",
    "starts",
    "zone",
    "told",
    "language",
    "groups_drawn",
)
STANDING = "(SELECT standing FROM comparison WHERE id = old.comparison)"
REFUSE = f"BEGIN SELECT RAISE(ABORT, '{SEALED}'); END"


def _changed(columns: tuple[str, ...], differ: str, cast: str = "") -> str:
    return " OR ".join(f"new.{name}{cast} {differ} old.{name}{cast}" for name in columns)


SQLITE_TRIGGERS = (
    # REPLACE takes the old row away without asking the trigger on deleting.
    f"""CREATE TRIGGER seal_once BEFORE INSERT ON seal
    WHEN EXISTS (SELECT 1 FROM seal WHERE comparison = new.comparison) {REFUSE}""",
    f"""CREATE TRIGGER comparison_kept BEFORE UPDATE ON comparison
    WHEN old.standing <> 'drafted'
        AND (new.standing = 'drafted' OR {_changed(OF_COMPARISON, "IS NOT")}) {REFUSE}""",
    f"""CREATE TRIGGER comparison_stays BEFORE DELETE ON comparison
    WHEN old.standing <> 'drafted' {REFUSE}""",
    f"CREATE TRIGGER beer_kept BEFORE UPDATE ON beer WHEN {STANDING} <> 'drafted' {REFUSE}",
    f"CREATE TRIGGER beer_stays BEFORE DELETE ON beer WHEN {STANDING} <> 'drafted' {REFUSE}",
    f"""CREATE TRIGGER sitting_kept BEFORE UPDATE ON sitting
    WHEN {STANDING} <> 'drafted' AND ({_changed(OF_SITTING, "IS NOT")}) {REFUSE}""",
    f"CREATE TRIGGER sitting_stays BEFORE DELETE ON sitting WHEN {STANDING} <> 'drafted' {REFUSE}",
    f"CREATE TRIGGER cup_kept BEFORE UPDATE ON cup {REFUSE}",
    f"CREATE TRIGGER cup_stays BEFORE DELETE ON cup {REFUSE}",
)

RAISE = f"RAISE EXCEPTION '{SEALED}' USING ERRCODE = 'integrity_constraint_violation';"

POSTGRESQL_TRIGGERS = (
    f"""CREATE FUNCTION refuse_sealed_change() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN {RAISE} END $$""",
    f"""CREATE FUNCTION refuse_row_change() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN IF {STANDING} <> 'drafted' THEN {RAISE} END IF;
    IF TG_OP = 'DELETE' THEN RETURN old; END IF; RETURN new; END $$""",
    f"""CREATE TRIGGER comparison_kept BEFORE UPDATE ON comparison FOR EACH ROW
    WHEN (old.standing <> 'drafted'
        AND (new.standing = 'drafted' OR {_changed(OF_COMPARISON, "IS DISTINCT FROM", "::text")}))
    EXECUTE FUNCTION refuse_sealed_change()""",
    """CREATE TRIGGER comparison_stays BEFORE DELETE ON comparison FOR EACH ROW
    WHEN (old.standing <> 'drafted') EXECUTE FUNCTION refuse_sealed_change()""",
    """CREATE TRIGGER beer_kept BEFORE UPDATE OR DELETE ON beer FOR EACH ROW
    EXECUTE FUNCTION refuse_row_change()""",
    f"""CREATE TRIGGER sitting_kept BEFORE UPDATE ON sitting FOR EACH ROW
    WHEN ({_changed(OF_SITTING, "IS DISTINCT FROM", "::text")})
    EXECUTE FUNCTION refuse_row_change()""",
    """CREATE TRIGGER sitting_stays BEFORE DELETE ON sitting FOR EACH ROW
    EXECUTE FUNCTION refuse_row_change()""",
    """CREATE TRIGGER cup_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON cup
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_sealed_change()""",
)


def upgrade() -> None:
    sqlite = op.get_bind().dialect.name == "sqlite"
    for trigger in SQLITE_TRIGGERS if sqlite else POSTGRESQL_TRIGGERS:
        op.execute(trigger)


def downgrade() -> None:
    raise NotImplementedError("restore a backup from before this step")
