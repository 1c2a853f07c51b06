"""The crew's view: one app of pages, under two hosts. ``application`` has the pages; the other files are the hosts."""
