"""What is moulded or printed on a piece: resin codes and material symbols."""
