"""Where the person sits: pictures and pages on request, a new shop folder, the forms."""
