"""The help page and its pictures, as data of the package."""
