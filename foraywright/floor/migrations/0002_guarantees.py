from django.db import migrations

from foraywright.floor.triggers import append_only


class Migration(migrations.Migration):
    dependencies = [("floor", "0001_initial")]

    operations = [
        *append_only("floor_auditline", "Audit lines"),
        *append_only("floor_policyversion", "Policy versions"),
    ]
