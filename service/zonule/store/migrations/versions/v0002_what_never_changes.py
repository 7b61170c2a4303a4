"""Triggers: versions, signatures, addenda and the trail are only ever added to, and a signed note stays as it is."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEYS = {
    "note_versions": ("note_id", "number"),
    "signatures": ("note_id",),
    "addenda": ("note_id", "number"),
    "trail": ("number",),
}
"""The tables that are only added to, and their keys."""
SIGNED_NOTE = "EXISTS (SELECT 1 FROM signatures WHERE signatures.note_id = NEW.note_id)"


def upgrade() -> None:
    """Makes the triggers in the database's own language."""
    statements = _postgresql() if op.get_bind().dialect.name == "postgresql" else _sqlite()
    for statement in statements:
        op.execute(statement)


def downgrade() -> None:
    """Drops the triggers; the rows stay."""
    if op.get_bind().dialect.name == "postgresql":
        for table in (*KEYS, "notes"):
            for name in ("kept", "not_emptied"):
                op.execute(f"DROP TRIGGER IF EXISTS {table}_{name} ON {table}")
        op.execute("DROP TRIGGER note_versions_not_after_signing ON note_versions")
        for name in ("zonule_refuse_change", "zonule_refuse_version"):
            op.execute(f"DROP FUNCTION {name}()")
        return
    for table in KEYS:
        for name in ("not_updated", "not_deleted", "not_replaced"):
            op.execute(f"DROP TRIGGER {table}_{name}")
    for name in ("note_versions_not_after_signing", "notes_not_updated", "notes_not_deleted"):
        op.execute(f"DROP TRIGGER {name}")


def _sqlite() -> list[str]:
    refuse = "BEGIN SELECT RAISE(ABORT, '{table} is only ever added to'); END"
    made = []
    for table, key in KEYS.items():
        same = " AND ".join(f"{column} = NEW.{column}" for column in key)
        stop = refuse.format(table=table)
        made += [
            f"CREATE TRIGGER {table}_not_updated BEFORE UPDATE ON {table} {stop}",
            f"CREATE TRIGGER {table}_not_deleted BEFORE DELETE ON {table} {stop}",
            f"CREATE TRIGGER {table}_not_replaced BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) {stop}",
        ]
    stop = "BEGIN SELECT RAISE(ABORT, 'a signed note stays as it is'); END"
    return [
        *made,
        "CREATE TRIGGER note_versions_not_after_signing BEFORE INSERT ON note_versions "
        f"WHEN NOT NEW.set_aside AND {SIGNED_NOTE} {stop}",
        f"CREATE TRIGGER notes_not_updated BEFORE UPDATE ON notes WHEN OLD.state = 'signed' {stop}",
        f"CREATE TRIGGER notes_not_deleted BEFORE DELETE ON notes WHEN OLD.state = 'signed' {stop}",
    ]


def _postgresql() -> list[str]:
    function = (
        "CREATE FUNCTION zonule_refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% is only ever added to', TG_TABLE_NAME USING ERRCODE = '23001'; END $$"
    )
    run = "EXECUTE FUNCTION zonule_refuse_change()"
    made = [function]
    for table in (*KEYS, "notes"):
        when = "WHEN (OLD.state = 'signed') " if table == "notes" else ""
        made += [
            f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {when}{run}",
            f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {run}",
        ]
    # A trigger's WHEN takes no subquery in PostgreSQL, so this one looks the signature up itself.
    return [*made, *_postgresql_after_signing()]


def _postgresql_after_signing() -> list[str]:
    return [
        "CREATE FUNCTION zonule_refuse_version() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {SIGNED_NOTE} THEN RAISE EXCEPTION 'a signed note stays as it is' USING ERRCODE = '23001'; END IF; "
        "RETURN NEW; END $$",
        "CREATE TRIGGER note_versions_not_after_signing BEFORE INSERT ON note_versions "
        "FOR EACH ROW WHEN (NOT NEW.set_aside) EXECUTE FUNCTION zonule_refuse_version()",
    ]
