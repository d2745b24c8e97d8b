"""The bare words that two sides of a wire must share: names, closed lists and units of JDF and JMF.

Nothing here decides anything. Both the bridge and the simulated press import it; it imports nothing.
"""
