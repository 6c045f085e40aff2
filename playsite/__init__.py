"""Where should the playground go, and can we defend it?"""
