"""Open map data for the layers that a study lacks, dated and with the credit that is due."""
