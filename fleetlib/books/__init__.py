"""What goes in the accounts of a period?"""
