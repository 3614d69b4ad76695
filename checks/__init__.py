"""Circuit -> behaviour -> findings. Knows the language's model, nothing of pictures."""
