"""What a rubbed piece smells of: camphor tells of celluloid."""
