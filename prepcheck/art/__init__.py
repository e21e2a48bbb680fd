"""Reading artwork files into facts: boxes, images, type, paths, inks. Never judgement."""
