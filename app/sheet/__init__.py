"""The build sheet: every number and step that somebody needs who builds the robot, as plain data.

Enter at `build_sheet.sheet_of`; `paper_pages.sheet_pages` lays a sheet out on paper, and `html_sheet` of
`app.export` writes it as one page for a browser. Nothing here knows a file format, and nothing is worked out
twice: numbers come from `geometry` by way of `Facts`, words from `app.words`.
"""
