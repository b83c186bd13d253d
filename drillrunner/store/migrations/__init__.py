"""The steps from each schema to the next. `VERSIONS` names them, oldest first.

The list stands here so that the stored version can be judged without importing Alembic.
"""

VERSIONS = ("0001", "0002", "0003", "0004", "0005")
