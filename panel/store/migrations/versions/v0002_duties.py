"""Who does what at an evening, and which person has taken up a link to keep a key.

Columns are added in plain SQL: it is the same on both engines, and no table is made anew, so that
triggers stay.
"""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE comparison ADD COLUMN duties JSON")
    # Without a foreign key: SQLite can add a named one only by making the table anew, and rows of
    # sign-ins point at it. People are never deleted.
    op.execute("ALTER TABLE invitation ADD COLUMN person TEXT")


def downgrade() -> None:
    raise NotImplementedError("restore a backup from before this step")
