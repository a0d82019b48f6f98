"""What is done to designs, and how they are kept: edits, files, old formats, recovery, samples."""
