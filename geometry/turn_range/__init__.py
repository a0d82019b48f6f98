"""A robot over all the turns that it uses: what happens where, what is worst, and what is at fault there.

The entry is `range_check.RangeCheck`; `range_check.at_turns` asks for chosen turns, `causes.cause_of`
for what is at fault.
Nothing here judges other designs than the one at hand, and nothing here speaks in sentences.
"""
