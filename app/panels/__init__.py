"""One panel a capability; each shows a view and asks the document."""
