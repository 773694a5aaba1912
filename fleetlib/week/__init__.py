"""What to do now: the advice on one piece, its page and its tag."""
