"""Points carry the number of their run; powers that were read for another run are marked."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import context, op

from fleetcal.store.renumbering import give_run_numbers

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

POWER = "cruise_power"


def upgrade() -> None:
    with op.batch_alter_table(POWER) as batch:
        batch.add_column(sa.Column("doubt", sa.Text(), nullable=True))
    op.execute(f"UPDATE {POWER} SET doubt = ''")
    with op.batch_alter_table(POWER) as batch:
        batch.alter_column("doubt", nullable=False)
    done = give_run_numbers(op.get_bind())
    told = context.config.attributes.setdefault("told", [])
    if done.points:
        told.append(
            f"{_counted(done.points, 'point')} of {_counted(done.sorties, 'sortie')} had been "
            "counted over the solved runs only, and now have the number of their run"
        )
    told += done.notes


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def downgrade() -> None:
    # The numbers of runs stay: the older program takes them as any other.
    with op.batch_alter_table(POWER) as batch:
        batch.drop_column("doubt")
