"""What an editor shows while a harness is written: a pure function a feature, and one module that speaks the protocol.

``workspace`` keeps the open texts and reads them, ``server`` speaks the Language Server Protocol; all else takes what
was read and gives plain data back, with places as the language counts them.
"""
