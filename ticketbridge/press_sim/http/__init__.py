"""The press by JMF over HTTP: its counter takes messages, its herald posts signals and gives tickets back.

``counter`` answers, ``server`` is the HTTP around it, ``herald`` speaks by itself, ``mischief`` makes both misbehave
where a test asks for it. All of them ask the one thread that prints, by ``desk``.
"""
