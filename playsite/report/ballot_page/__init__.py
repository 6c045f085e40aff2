"""A page for residents: which sites would do, in which order, and why; the answer is a small CSV."""

from playsite.report.ballot_page.page import ballot_html, write_ballot

__all__ = ["ballot_html", "write_ballot"]
