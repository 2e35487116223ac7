"""The first schema, and the triggers that keep what is sealed and recorded as it was written.

Frozen: types are spelt out here, so that a later change of the tables cannot change this step.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)
JSON = sa.JSON(none_as_null=True)


def _word(name: str, nullable: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=nullable)


def _whole(name: str, nullable: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), nullable=nullable, autoincrement=False)


def _moment(name: str, nullable: bool = False) -> sa.Column[object]:
    return sa.Column(name, MOMENT, nullable=nullable)


def _yes_no(name: str) -> sa.Column[bool]:
    return sa.Column(name, sa.Boolean(), nullable=False)


def _key(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(*columns, name=f"pk_{table}")


def _unique(table: str, *columns: str) -> sa.UniqueConstraint:
    return sa.UniqueConstraint(*columns, name=f"uq_{table}_{'_'.join(columns)}")


def _points(
    table: str, columns: tuple[str, ...], to: str, there: tuple[str, ...]
) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        columns, [f"{to}.{column}" for column in there], name=f"fk_{table}_{'_'.join(columns)}"
    )


def _holds(table: str, name: str, condition: str) -> sa.CheckConstraint:
    # op.f: the name is whole already; the convention for checks would be put before it again.
    return sa.CheckConstraint(condition, name=op.f(f"ck_{table}_{name}"))


def upgrade() -> None:
    _comparison_tables()
    _sealing_tables()
    _serving_tables()
    _ballot_tables()
    _people_tables()
    _record_tables()
    if op.get_bind().dialect.name == "sqlite":
        for trigger in SQLITE_TRIGGERS:
            op.execute(trigger)
    else:
        for trigger in POSTGRESQL_TRIGGERS:
            op.execute(trigger)


def downgrade() -> None:
    raise NotImplementedError("there is nothing before the first step: restore a backup")


def _comparison_tables() -> None:
    op.create_table(
        "evening", _word("id"), _word("name"), _moment("created"), _key("evening", "id")
    )
    op.create_table(
        "comparison",
        *map(_word, ("id", "slug")),
        _word("evening", nullable=True),
        *map(_word, ("title", "neutral_title", "variable")),
        sa.Column("plan", JSON, nullable=False),
        sa.Column("serving", JSON, nullable=False),
        *map(_word, ("drink", "organised_by", "helpers", "blinding", "standing")),
        _moment("created"),
        _moment("closed", nullable=True),
        _moment("published", nullable=True),
        _word("waived"),
        _key("comparison", "id"),
        _unique("comparison", "slug"),
        _points("comparison", ("evening",), "evening", ("id",)),
    )
    op.create_index("ix_comparison_evening", "comparison", ["evening"])
    op.create_table(
        "beer",
        *map(_word, ("comparison", "letter", "name", "value")),
        _word("abv", nullable=True),
        *map(_word, ("cover_name", "notes")),
        _key("beer", "comparison", "letter"),
        _points("beer", ("comparison",), "comparison", ("id",)),
    )
    op.create_table(
        "measurement",
        *map(_word, ("comparison", "letter", "name", "value", "unit")),
        _key("measurement", "comparison", "letter", "name"),
        _points("measurement", ("comparison", "letter"), "beer", ("comparison", "letter")),
    )


def _sealing_tables() -> None:
    op.create_table(
        "sitting",
        *map(_word, ("id", "comparison")),
        _whole("ordinal"),
        *map(_word, ("name", "kind", "information")),
        _whole("planned"),
        _whole("drawn"),
        _word("place"),
        _moment("starts"),
        *map(_word, ("zone", "told", "language", "paper")),
        _yes_no("groups_drawn"),
        _word("standing"),
        _moment("opened", nullable=True),
        _moment("closed", nullable=True),
        _key("sitting", "id"),
        _unique("sitting", "comparison", "id"),
        _unique("sitting", "comparison", "ordinal"),
        _points("sitting", ("comparison",), "comparison", ("id",)),
        _holds("sitting", "counts", "planned >= 0 AND drawn >= 0"),
    )
    op.create_table(
        "seal",
        *map(_word, ("comparison", "digest", "document")),
        _moment("made"),
        sa.Column("ciphertext", sa.LargeBinary(), nullable=False),
        _word("algorithm"),
        _whole("version"),
        sa.Column("opened", JSON),
        _key("seal", "comparison"),
        _points("seal", ("comparison",), "comparison", ("id",)),
    )
    op.create_table(
        "amendment",
        _word("comparison"),
        _whole("number"),
        _moment("at"),
        *map(_word, ("person", "what", "reason")),
        _key("amendment", "comparison", "number"),
        _points("amendment", ("comparison",), "comparison", ("id",)),
        _holds("amendment", "number", "number >= 1"),
    )


def _serving_tables() -> None:
    op.create_table(
        "tray",
        _word("comparison"),
        _whole("number"),
        _word("sitting"),
        _whole("wave"),
        _whole("place"),
        _yes_no("spare"),
        _word("standing"),
        _word("reason", nullable=True),
        *map(_word, ("note", "taster")),
        _whole("version"),
        *map(_word, ("token_hash", "short_hash", "ref")),
        _moment("handed_out", nullable=True),
        _key("tray", "comparison", "number"),
        _unique("tray", "token_hash"),
        _unique("tray", "ref"),
        _points("tray", ("comparison",), "comparison", ("id",)),
        _points("tray", ("comparison", "sitting"), "sitting", ("comparison", "id")),
        _holds("tray", "counted_from_1", "number >= 1 AND wave >= 1 AND place >= 1"),
        _holds("tray", "version", "version >= 1"),
    )
    op.create_index("ix_tray_comparison_sitting", "tray", ["comparison", "sitting"])
    op.create_index("ix_tray_short_hash", "tray", ["short_hash"])
    op.create_table(
        "cup",
        _word("comparison"),
        _whole("tray"),
        _whole("position"),
        _word("code"),
        _key("cup", "comparison", "tray", "position"),
        _unique("cup", "comparison", "tray", "code"),
        _points("cup", ("comparison", "tray"), "tray", ("comparison", "number")),
        _holds("cup", "position", "position >= 1"),
        _holds("cup", "code", "length(code) = 3"),
    )


def _ballot_tables() -> None:
    op.create_table(
        "ballot",
        _word("comparison"),
        _whole("tray"),
        _whole("revision"),
        _word("channel"),
        _moment("received"),
        _yes_no("late"),
        _word("idempotency_key", nullable=True),
        _whole("counted", nullable=True),
        _key("ballot", "comparison", "tray", "revision"),
        _unique("ballot", "comparison", "tray", "counted"),
        _unique("ballot", "comparison", "tray", "idempotency_key"),
        _points("ballot", ("comparison", "tray"), "tray", ("comparison", "number")),
        _holds("ballot", "revision", "revision >= 1"),
        _holds("ballot", "counted", "counted = 1"),
    )
    op.create_table(
        "answer",
        _word("comparison"),
        _whole("tray"),
        _whole("revision"),
        _word("question"),
        sa.Column("words", JSON, nullable=False),
        _key("answer", "comparison", "tray", "revision", "question"),
        _points(
            "answer",
            ("comparison", "tray", "revision"),
            "ballot",
            ("comparison", "tray", "revision"),
        ),
    )


def _people_tables() -> None:
    op.create_table(
        "person",
        *map(_word, ("id", "name", "folded", "password")),
        _yes_no("organiser"),
        _yes_no("key_holder"),
        _moment("created"),
        _moment("disabled", nullable=True),
        _key("person", "id"),
        _unique("person", "folded"),
    )
    op.create_table(
        "invitation",
        *map(_word, ("id", "token_hash", "role")),
        _word("comparison", nullable=True),
        _word("sitting", nullable=True),
        _moment("made"),
        _moment("expires"),
        _moment("used", nullable=True),
        _moment("revoked", nullable=True),
        _key("invitation", "id"),
        _unique("invitation", "token_hash"),
        _points("invitation", ("comparison",), "comparison", ("id",)),
        _points("invitation", ("comparison", "sitting"), "sitting", ("comparison", "id")),
    )
    op.create_index("ix_invitation_comparison", "invitation", ["comparison"])
    op.create_table(
        "signin",
        *map(_word, ("id", "token_hash")),
        _word("person", nullable=True),
        _word("invitation", nullable=True),
        _word("role"),
        *map(_moment, ("created", "last_seen", "expires")),
        _moment("revoked", nullable=True),
        _key("signin", "id"),
        _unique("signin", "token_hash"),
        _points("signin", ("person",), "person", ("id",)),
        _points("signin", ("invitation",), "invitation", ("id",)),
    )
    op.create_index("ix_signin_person", "signin", ["person"])
    op.create_index("ix_signin_invitation", "signin", ["invitation"])
    op.create_table(
        "refused_signin",
        sa.Column("id", sa.Integer(), nullable=False),
        _word("account"),
        _moment("at"),
        _key("refused_signin", "id"),
    )
    op.create_index("ix_refused_signin_account", "refused_signin", ["account"])


def _record_tables() -> None:
    op.create_table(
        "record",
        _word("chain"),
        _whole("sequence"),
        *map(_word, ("at", "role", "who", "what", "subject", "detail", "previous", "hash")),
        _key("record", "chain", "sequence"),
        _holds("record", "sequence", "sequence >= 1"),
    )
    op.create_table("meta", _word("name"), _word("value"), _key("meta", "name"))


SEALED = "the seal cannot be changed"
RECORDED = "the record cannot be changed"
PLANNED = "a sealed plan cannot be changed: write an amendment"
AMENDED = "an amendment cannot be changed"

SQLITE_TRIGGERS = (
    f"""CREATE TRIGGER seal_kept BEFORE UPDATE ON seal
    WHEN new.comparison IS NOT old.comparison OR new.digest IS NOT old.digest
        OR new.document IS NOT old.document OR new.made IS NOT old.made
        OR (old.opened IS NOT NULL AND new.opened IS NOT old.opened)
    BEGIN SELECT RAISE(ABORT, '{SEALED}'); END""",
    f"""CREATE TRIGGER seal_stays BEFORE DELETE ON seal
    BEGIN SELECT RAISE(ABORT, '{SEALED}'); END""",
    f"""CREATE TRIGGER record_kept BEFORE UPDATE ON record
    BEGIN SELECT RAISE(ABORT, '{RECORDED}'); END""",
    f"""CREATE TRIGGER record_stays BEFORE DELETE ON record
    BEGIN SELECT RAISE(ABORT, '{RECORDED}'); END""",
    f"""CREATE TRIGGER amendment_kept BEFORE UPDATE ON amendment
    BEGIN SELECT RAISE(ABORT, '{AMENDED}'); END""",
    f"""CREATE TRIGGER amendment_stays BEFORE DELETE ON amendment
    BEGIN SELECT RAISE(ABORT, '{AMENDED}'); END""",
    f"""CREATE TRIGGER plan_kept BEFORE UPDATE OF plan, serving ON comparison
    WHEN old.standing <> 'drafted'
        AND (new.plan IS NOT old.plan OR new.serving IS NOT old.serving)
    BEGIN SELECT RAISE(ABORT, '{PLANNED}'); END""",
)


def _refuse(name: str, words: str) -> str:
    return f"""CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION '{words}' USING ERRCODE = 'integrity_constraint_violation'; END $$"""


POSTGRESQL_TRIGGERS = (
    _refuse("refuse_seal_change", SEALED),
    _refuse("refuse_record_change", RECORDED),
    _refuse("refuse_plan_change", PLANNED),
    _refuse("refuse_amendment_change", AMENDED),
    """CREATE TRIGGER seal_kept BEFORE UPDATE ON seal FOR EACH ROW
    WHEN (new.comparison IS DISTINCT FROM old.comparison OR new.digest IS DISTINCT FROM old.digest
        OR new.document IS DISTINCT FROM old.document OR new.made IS DISTINCT FROM old.made
        OR (old.opened IS NOT NULL AND new.opened::text IS DISTINCT FROM old.opened::text))
    EXECUTE FUNCTION refuse_seal_change()""",
    """CREATE TRIGGER seal_stays BEFORE DELETE OR TRUNCATE ON seal
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_seal_change()""",
    """CREATE TRIGGER record_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON record
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_record_change()""",
    """CREATE TRIGGER amendment_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON amendment
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_amendment_change()""",
    """CREATE TRIGGER plan_kept BEFORE UPDATE OF plan, serving ON comparison FOR EACH ROW
    WHEN (old.standing <> 'drafted' AND (new.plan::text IS DISTINCT FROM old.plan::text
        OR new.serving::text IS DISTINCT FROM old.serving::text))
    EXECUTE FUNCTION refuse_plan_change()""",
)
