"""What was read from pictures of cards is kept, with the picture, until it is erased."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "reading",
        sa.Column("comparison", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("tray", sa.Integer(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("file_hash", sa.Text(), nullable=False),
        sa.Column("page", sa.Integer(), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("words", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("picture_hash", sa.Text(), nullable=False),
        sa.Column("picture", sa.LargeBinary(), nullable=True),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("reason", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=True),
        sa.Column("decision", sa.Text(), nullable=True),
        sa.Column("decided_role", sa.Text(), nullable=True),
        sa.Column("decided_by", sa.Text(), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("comparison", "number", name="pk_reading"),
        sa.ForeignKeyConstraint(
            ["comparison", "tray"],
            ["tray.comparison", "tray.number"],
            name="fk_reading_comparison_tray",
        ),
        sa.CheckConstraint("number >= 1 AND page >= 1", name=op.f("ck_reading_counted_from_1")),
        sa.CheckConstraint("length(picture_hash) IN (0, 64)", name=op.f("ck_reading_picture_hash")),
    )
    op.create_index("ix_reading_comparison_tray", "reading", ["comparison", "tray"])


def downgrade() -> None:
    raise NotImplementedError("restore a backup from before this step")
