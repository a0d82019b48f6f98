"""One panel a capability: fields, tables and plots beside the plan.

Each panel shows a view and asks the document.
Nothing here holds a number of the design.
"""
