"""What is handed on beside the pages: a spreadsheet, and every measure as CSV and Parquet."""
