"""An invented family and its box of drawn photographs: what a newcomer tries kinphoto on, and what its tests rest on.

Nothing here is real: the Quillerns, their town and their photographs were made up for this project.
"""
