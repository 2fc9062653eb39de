"""Whose an airframe is, who coordinates a type, and by whose word something was replaced.

Of the airframes that a store has already, nobody knows whose they are: they are nobody's until
somebody says so. What an older program replaced in a merge was by the word of nobody who signed.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import context, op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

OWNER = "owner IN ('', 'nobody') OR length(owner) = 64"
COORDINATOR = "coordinator = '' OR length(coordinator) = 64"


def upgrade() -> None:
    op.create_table(
        "known_key",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("public_key", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("first_seen", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("length(public_key) = 64", name=op.f("ck_known_key_key_length")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_known_key")),
        sa.UniqueConstraint("public_key", name=op.f("uq_known_key_public_key")),
    )
    with op.batch_alter_table("airframe") as table:
        table.add_column(sa.Column("owner", sa.Text(), nullable=False, server_default="nobody"))
        table.create_check_constraint(op.f("ck_airframe_owner_known"), OWNER)
    with op.batch_alter_table("aircraft_type") as table:
        table.add_column(sa.Column("coordinator", sa.Text(), nullable=False, server_default=""))
        table.add_column(
            sa.Column(
                "coordinator_decides", sa.Boolean(), nullable=False, server_default=sa.false()
            )
        )
        table.create_check_constraint(op.f("ck_aircraft_type_coordinator_known"), COORDINATOR)
    for name, columns in (
        ("airframe", ("owner",)),
        ("aircraft_type", ("coordinator", "coordinator_decides")),
    ):
        with op.batch_alter_table(name) as table:
            for column in columns:
                table.alter_column(column, server_default=None)
    with op.batch_alter_table("replaced_version") as table:
        table.add_column(sa.Column("by_key", sa.Text(), nullable=True))
    airframes = op.get_bind().scalar(sa.text("SELECT count(*) FROM airframe"))
    if airframes:
        context.config.attributes.setdefault("told", []).append(
            "nobody owns the airframes of this store yet; say which are yours with "
            "'fleetcal owners set TAG --mine', so that no share of somebody else adds to them"
        )
    op.execute("UPDATE replaced_version SET by_key = '' WHERE why LIKE 'merge of %'")


def downgrade() -> None:
    with op.batch_alter_table("replaced_version") as table:
        table.drop_column("by_key")
    with op.batch_alter_table("aircraft_type") as table:
        table.drop_constraint(op.f("ck_aircraft_type_coordinator_known"), type_="check")
        table.drop_column("coordinator_decides")
        table.drop_column("coordinator")
    with op.batch_alter_table("airframe") as table:
        table.drop_constraint(op.f("ck_airframe_owner_known"), type_="check")
        table.drop_column("owner")
    op.drop_table("known_key")
