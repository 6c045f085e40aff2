"""What is measured at the pad: one file a criterion, found by entry point."""
