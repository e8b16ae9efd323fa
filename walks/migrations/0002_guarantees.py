from django.db import migrations

from foraywright.floor.triggers import VendorSQL

MESSAGE = "A guide cannot be out twice at once."

_CLASH = f"""
BEGIN
    SELECT RAISE(ABORT, '{MESSAGE}') WHERE EXISTS (
        SELECT 1 FROM walks_walkguide other
        WHERE other.guide_id = NEW.guide_id AND other.id <> NEW.id AND other.live AND NEW.live
          AND other.starts_at < NEW.ends_at AND NEW.starts_at < other.ends_at
    );
END
"""


class Migration(migrations.Migration):
    dependencies = [("walks", "0001_initial")]

    operations = [
        VendorSQL(
            sqlite=(
                f"CREATE TRIGGER guide_out_once_insert AFTER INSERT ON walks_walkguide {_CLASH}",
                f"CREATE TRIGGER guide_out_once_update AFTER UPDATE ON walks_walkguide {_CLASH}",
            ),
            postgresql=(
                "CREATE EXTENSION IF NOT EXISTS btree_gist",
                "ALTER TABLE walks_walkguide ADD CONSTRAINT guide_out_once EXCLUDE USING gist "
                "(guide_id WITH =, tstzrange(starts_at, ends_at) WITH &&) WHERE (live)",
            ),
            undo={
                "sqlite": ("DROP TRIGGER guide_out_once_insert", "DROP TRIGGER guide_out_once_update"),
                "postgresql": ("ALTER TABLE walks_walkguide DROP CONSTRAINT guide_out_once",),
            },
        ),
    ]
