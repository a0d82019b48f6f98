"""What is shown: the window, the command line, and the files behind them.

`main` starts either; `document` holds the one design that is edited.
Nothing here works out how a robot moves: `geometry` does.
"""
