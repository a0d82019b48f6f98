"""What is shown: the window, the command line, and the files behind them."""
