"""Judgements, causes, remedies and advice as sentences, for window, command line and written code alike.

The entries are `verdict.headline`, `check_report.text_of` and `remedies.remedy`.
Nothing here works out a number that it tells.
"""
