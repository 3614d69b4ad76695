"""Running the rules: catalogue, policy, settings, waivers."""
