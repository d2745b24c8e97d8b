"""The store: jobs, events, deliveries, messages. It refuses what must not happen twice."""
