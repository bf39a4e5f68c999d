"""Says what a workbook holds, as JSON: read_workbook.py FILE.

Written against openpyxl, a reader that shares no code with the program.
"""

import json
import sys

from openpyxl import load_workbook

book = load_workbook(sys.argv[1])
sheets = []
for sheet in book.worksheets:
    rows = list(sheet.iter_rows())
    headings = [cell.value for cell in rows[0]]
    kinds = {}
    for at, heading in enumerate(headings):
        cells = [row[at] for row in rows[1:] if row[at].value is not None]
        kinds[str(heading)] = sorted({cell.data_type for cell in cells})
    rules = []
    for rule in sheet.data_validations.dataValidation:
        rules.append(
            {
                "kind": rule.type,
                "cells": str(rule.sqref),
                "first": rule.formula1,
                "second": rule.formula2,
                "blank": rule.allowBlank,
            }
        )
    sheets.append(
        {
            "name": sheet.title,
            "rows": len(rows),
            "headings": headings,
            "kinds": kinds,
            "rules": rules,
            "frozen": sheet.freeze_panes,
            "repeated": sheet.print_title_rows,
            "landscape": sheet.page_setup.orientation == "landscape",
        }
    )
json.dump(sheets, sys.stdout)
