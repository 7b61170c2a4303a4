"""The first tables: users and sessions, lists, notes, their index, the trail, corrections."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)
TABLES = (
    "signatures",
    "note_versions",
    "found_notes",
    "found_implants",
    "addenda",
    "web_sessions",
    "notes",
    "users",
    "trail_end",
    "trail",
    "listed_cases",
    "kept_answers",
    "failed_logins",
    "decisions",
    "corrections",
)
"""In the order in which they can go: a table before those it refers to."""


def upgrade() -> None:
    """Makes every table with its indexes."""
    op.create_table(
        "corrections",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("heard", sa.Text(), nullable=False),
        sa.Column("reading", sa.Text(), nullable=False),
        sa.Column("proposal", sa.String(length=64), nullable=False),
        sa.Column("noted_by", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_corrections"),
    )
    op.create_index("ix_corrections_proposal", "corrections", ["proposal"])
    op.create_table(
        "decisions",
        sa.Column("proposal", sa.String(length=64), nullable=False),
        sa.Column("accepted", sa.Boolean(), nullable=False),
        sa.Column("decided_by", sa.Text(), nullable=False),
        sa.Column("decided_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("proposal", name="pk_decisions"),
    )
    op.create_table(
        "failed_logins",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name_hash", sa.String(length=64), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_failed_logins"),
    )
    op.create_index("ix_failed_logins_address", "failed_logins", ["address"])
    op.create_index("ix_failed_logins_name_hash", "failed_logins", ["name_hash"])
    op.create_table(
        "kept_answers",
        sa.Column("user_name", sa.Text(), nullable=False),
        sa.Column("route", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("body_hash", sa.String(length=64), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("content_type", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("kept_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("user_name", "route", "key", name="pk_kept_answers"),
    )
    op.create_index("ix_kept_answers_kept_at", "kept_answers", ["kept_at"])
    op.create_table(
        "listed_cases",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("imported_by", sa.Text(), nullable=False),
        sa.Column("imported_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_listed_cases"),
    )
    op.create_index("ix_listed_cases_day", "listed_cases", ["day"])
    op.create_table(
        "trail",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_trail"),
    )
    op.create_index("ix_trail_subject", "trail", ["subject"])
    op.create_table(
        "trail_end",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_trail_end"),
    )
    op.create_table(
        "users",
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("full_name", sa.Text(), nullable=False),
        sa.Column("roles", sa.Text(), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=True),
        sa.Column("issuer", sa.Text(), nullable=True),
        sa.Column("subject", sa.Text(), nullable=True),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.Column("disabled_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("name", name="pk_users"),
        sa.UniqueConstraint("issuer", "subject", name="uq_users_issuer_subject"),
    )
    op.create_table(
        "notes",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("case_id", sa.String(length=32), nullable=True),
        sa.Column("key", sa.Text(), nullable=True),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("created_at", MOMENT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["listed_cases.id"], name="fk_notes_case_id_listed_cases"),
        sa.PrimaryKeyConstraint("id", name="pk_notes"),
        sa.UniqueConstraint("case_id", name="uq_notes_case_id"),
        sa.UniqueConstraint("created_by", "key", name="uq_notes_created_by_key"),
    )
    op.create_index("ix_notes_created_at", "notes", ["created_at"])
    op.create_table(
        "web_sessions",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("user_name", sa.String(length=64), nullable=False),
        sa.Column("began_at", MOMENT, nullable=False),
        sa.Column("seen_at", MOMENT, nullable=False),
        sa.Column("expires_at", MOMENT, nullable=False),
        sa.Column("idle_s", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["user_name"], ["users.name"], name="fk_web_sessions_user_name_users"),
        sa.PrimaryKeyConstraint("token_hash", name="pk_web_sessions"),
    )
    op.create_index("ix_web_sessions_user_name", "web_sessions", ["user_name"])
    op.create_table(
        "addenda",
        sa.Column("note_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("dictation", sa.Text(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("report", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["note_id"], ["notes.id"], name="fk_addenda_note_id_notes"),
        sa.PrimaryKeyConstraint("note_id", "number", name="pk_addenda"),
    )
    op.create_table(
        "found_implants",
        sa.Column("note_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("manufacturer", sa.Text(), nullable=True),
        sa.Column("model", sa.Text(), nullable=True),
        sa.Column("power_d", sa.Double(), nullable=True),
        sa.Column("serial_number", sa.Text(), nullable=True),
        sa.Column("lot_number", sa.Text(), nullable=True),
        sa.Column("model_key", sa.Text(), nullable=True),
        sa.Column("serial_key", sa.Text(), nullable=True),
        sa.Column("lot_key", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["note_id"], ["notes.id"], name="fk_found_implants_note_id_notes"),
        sa.PrimaryKeyConstraint("note_id", "number", name="pk_found_implants"),
    )
    op.create_index("ix_found_implants_lot_key", "found_implants", ["lot_key"])
    op.create_index("ix_found_implants_model_key", "found_implants", ["model_key"])
    op.create_index("ix_found_implants_serial_key", "found_implants", ["serial_key"])
    op.create_table(
        "found_notes",
        sa.Column("note_id", sa.String(length=32), nullable=False),
        sa.Column("day", sa.String(length=10), nullable=False),
        sa.Column("surgeon", sa.Text(), nullable=True),
        sa.Column("surgeon_key", sa.Text(), nullable=True),
        sa.Column("hospital_number", sa.Text(), nullable=True),
        sa.Column("hospital_number_key", sa.Text(), nullable=True),
        sa.Column("patient", sa.Text(), nullable=True),
        sa.Column("eye", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["note_id"], ["notes.id"], name="fk_found_notes_note_id_notes"),
        sa.PrimaryKeyConstraint("note_id", name="pk_found_notes"),
    )
    op.create_index("ix_found_notes_day_note_id", "found_notes", ["day", "note_id"])
    op.create_index("ix_found_notes_hospital_number_key", "found_notes", ["hospital_number_key"])
    op.create_index("ix_found_notes_surgeon_key_day_note_id", "found_notes", ["surgeon_key", "day", "note_id"])
    op.create_table(
        "note_versions",
        sa.Column("note_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("base_version", sa.Integer(), nullable=True),
        sa.Column("set_aside", sa.Boolean(), nullable=False),
        sa.Column("dictation", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("keep", sa.Text(), nullable=False),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=True),
        sa.Column("case_data", sa.Text(), nullable=True),
        sa.Column("standard", sa.Text(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("report", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("saved_at", MOMENT, nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["note_id"], ["notes.id"], name="fk_note_versions_note_id_notes"),
        sa.PrimaryKeyConstraint("note_id", "number", name="pk_note_versions"),
    )
    op.create_table(
        "signatures",
        sa.Column("note_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("signer", sa.Text(), nullable=False),
        sa.Column("signed_name", sa.Text(), nullable=False),
        sa.Column("signed_at", MOMENT, nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["note_id"], ["notes.id"], name="fk_signatures_note_id_notes"),
        sa.PrimaryKeyConstraint("note_id", name="pk_signatures"),
    )


def downgrade() -> None:
    """Drops every table, and everything in them."""
    for table in TABLES:
        op.drop_table(table)
