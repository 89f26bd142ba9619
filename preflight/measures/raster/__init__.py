"""Pixel arithmetic on plates: masks, regions, close looks, differences, places, profiles along an edge."""
