"""What was replaced on purpose, so that merging does not bring it back."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    table = "replaced_version"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        *(
            sa.Column(name, sa.Text(), nullable=False)
            for name in ("kind", "thing_key", "digest", "content_json", "why")
        ),
        sa.Column("replaced_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.UniqueConstraint(
            "kind", "thing_key", "digest", name=op.f(f"uq_{table}_kind_thing_key_digest")
        ),
        sa.CheckConstraint("length(digest) = 64", name=op.f(f"ck_{table}_digest_length")),
        *(
            sa.CheckConstraint(f"length(trim({name})) > 0", name=op.f(f"ck_{table}_{name}_filled"))
            for name in ("kind", "thing_key")
        ),
    )


def downgrade() -> None:
    op.drop_table("replaced_version")
