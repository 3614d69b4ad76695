"""The rule catalogue: one module a rule, each with a ``RULE``. See ``checks/rule.py``."""
