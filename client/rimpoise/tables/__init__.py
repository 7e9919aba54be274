"""Tables of wheels: files and frames in, a row for each wheel or each piece out.

    from rimpoise import Client
    from rimpoise.tables import check_frame

    with Client("http://localhost:8080") as client:
        checked = check_frame(client, polars.read_database("SELECT * FROM wheels", connection))

``open_table`` and ``check`` do the same row by row, for any size. CSV and lines of JSON need the standard library
alone; Parquet and frames the extra ``tables``.
"""

from .check import check, check_frame
from .errors import BadTable
from .results import Answer, Verdict
from .table import Row, Table, open_table

__all__ = ["Answer", "BadTable", "Row", "Table", "Verdict", "check", "check_frame", "open_table"]
