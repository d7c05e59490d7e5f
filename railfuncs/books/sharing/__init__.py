"""What leaves the shop, and paper for it: values for a contractor, full-size strips, cards, labels, change lists."""
