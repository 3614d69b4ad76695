"""The judgement: a circuit becomes behaviour, behaviour becomes findings. Knows nothing of pictures."""
