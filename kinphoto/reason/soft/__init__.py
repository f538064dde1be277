"""What is likely: from claims, faces and orders to posteriors."""
