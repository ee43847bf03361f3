"""The score: a route as staff notation with tab, in MusicXML."""
