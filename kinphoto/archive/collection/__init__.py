"""The photographs as objects: scans, sides, boxes and pages."""
