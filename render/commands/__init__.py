"""Commands of the terminal, one a file under the command's name, with what they share.

``exits``: how a command ends. ``inputs``: files it reads. ``options``: what several commands ask on the command line.
``judging``: limits, settings, rules and the baseline. ``outputs``: what it prints and saves. ``surveying``: surveys.
``group`` has them all. What works a thing out is imported inside a command, so that the list of commands, and
``check``, never pay for pictures.
"""
