"""Published figures as data: one TOML file a subject, each row with its document and how it was obtained.

The module of the same name reads a file, once and when it is first asked, into frozen records and pure functions:
``ampacity``, ``conductors``, ``short_time``, ``fuses``, ``contacts``, ``laws``, ``lamps``, ``relays``, ``batteries``,
``crimps``, ``colours``, ``drops`` and ``profiles``. Import from the module, so that only what is used is read. Records
are named tuples: making the class costs a sixth of what a dataclass does, and ``check`` pays for that on every edit.
"""
