"""A migration that makes all its tables from one state of the models."""

from django.db import migrations


class AtOnce(migrations.Migration):
    """A first migration of nothing but ``CreateModel``, each after the tables that it points to.

    Django renders the models anew after each operation: with tables that all point to each other the
    time grows with the square of their number. Here they are rendered once.
    """

    def apply(self, project_state, schema_editor, collect_sql=False):
        """Make the tables in the order of the operations."""
        made = [operation for operation in self.operations if isinstance(operation, migrations.CreateModel)]
        if len(made) != len(self.operations) or collect_sql:
            return super().apply(project_state, schema_editor, collect_sql)
        vars(project_state).pop("apps", None)  # rendered at its next use, with all the models in it
        state = self.mutate_state(project_state, preserve=False)
        for operation in made:
            operation.database_forwards(self.app_label, schema_editor, project_state, state)
        return state
