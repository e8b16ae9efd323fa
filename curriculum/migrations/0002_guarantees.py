from django.db import migrations

from foraywright.floor.triggers import append_only


class Migration(migrations.Migration):
    dependencies = [("curriculum", "0001_initial")]

    operations = [
        *append_only("curriculum_accountversion", "Versions of an account"),
        *append_only("curriculum_factgroup", "Fact groups of a version"),
        *append_only("curriculum_citation", "Citations of a version"),
        *append_only("curriculum_signoff", "Signatures"),
    ]
