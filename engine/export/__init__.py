"""A recording for other programs: EDF+ and tables for a spreadsheet, each written aside first."""
