"""The daybook's rows can be added, never changed or taken out."""

from django.db import migrations

SQLITE = (
    """
    CREATE TRIGGER board_entry_no_change BEFORE UPDATE ON board_entry
    BEGIN SELECT RAISE(ABORT, 'the daybook is append-only'); END
    """,
    """
    CREATE TRIGGER board_entry_no_removal BEFORE DELETE ON board_entry
    BEGIN SELECT RAISE(ABORT, 'the daybook is append-only'); END
    """,
)
POSTGRESQL = (
    """
    CREATE FUNCTION board_entry_stays() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'the daybook is append-only'; END $$
    """,
    """
    CREATE TRIGGER board_entry_stays BEFORE UPDATE OR DELETE ON board_entry
    FOR EACH ROW EXECUTE FUNCTION board_entry_stays()
    """,
    """
    CREATE TRIGGER board_entry_not_emptied BEFORE TRUNCATE ON board_entry
    FOR EACH STATEMENT EXECUTE FUNCTION board_entry_stays()
    """,
)
UNDO = {
    "sqlite": (
        "DROP TRIGGER board_entry_no_change",
        "DROP TRIGGER board_entry_no_removal",
    ),
    "postgresql": (
        "DROP TRIGGER board_entry_stays ON board_entry",
        "DROP TRIGGER board_entry_not_emptied ON board_entry",
        "DROP FUNCTION board_entry_stays",
    ),
}


def guard(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for statement in {"sqlite": SQLITE, "postgresql": POSTGRESQL}[vendor]:
        schema_editor.execute(statement)


def unguard(apps, schema_editor):
    for statement in UNDO[schema_editor.connection.vendor]:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("board", "0001_initial")]
    operations = [migrations.RunPython(guard, unguard)]
