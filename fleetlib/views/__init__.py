"""Views: pictures, pages, calendars and forms of the advice."""
