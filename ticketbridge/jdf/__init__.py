"""JDF and JMF: reading bytes, checking documents, making elements."""
