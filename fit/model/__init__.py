"""What a person describes: box, parts, boards, drawer, build. Frozen, standard library only."""
