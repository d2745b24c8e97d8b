"""From what happened to those who asked: messages made, tickets returned, and the way they are sent."""
