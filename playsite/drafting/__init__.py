"""A first study file, drafted from whatever map files lie in a folder; each guess says its reason."""

from playsite.drafting.draft import draft_study

__all__ = ["draft_study"]
