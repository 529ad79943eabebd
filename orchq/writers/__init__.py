"""Writes into the text of a MusicXML score: only what changes, the rest byte for byte."""
