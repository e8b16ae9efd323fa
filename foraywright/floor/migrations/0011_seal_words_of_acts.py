from django.db import migrations

from foraywright.floor.triggers import VendorSQL, append_only

WRITTEN_BY_SOMEBODY = (
    "settle chargeback",
    "reopen chargeback",
    "take chargeback back",
    "note card payout",
    "take card payout back",
    "write off debt",
    "settle bank line",
    "reopen bank line",
    "pay voucher back",
    "erase personal data",
    "erase enquiry",
)
"""Acts of which the reason was typed into a form of the office; all others are words of ours, or said to everybody."""

no_update, _ = append_only("floor_auditline", "Audit lines")


def seal_words(apps, schema_editor):
    lines = apps.get_model("floor", "AuditLine").objects.filter(act__in=WRITTEN_BY_SOMEBODY).exclude(reason="")
    words = apps.get_model("floor", "ActWords").objects
    for line in lines.iterator():
        words.create(line=line, said=line.reason)
    lines.update(reason="")


class Migration(migrations.Migration):
    """Once only the audit is changed: what somebody wrote of why lay open in it, and could never be erased."""

    dependencies = [("floor", "0010_words_of_acts")]

    operations = [
        VendorSQL(**no_update.undo, undo=no_update.statements),
        migrations.RunPython(seal_words, migrations.RunPython.noop),
        no_update,
    ]
