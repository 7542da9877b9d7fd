"""One frozen Outlook in, text or bytes out."""
