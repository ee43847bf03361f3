"""The lesson page: one lesson as one HTML file that students open in a browser, its sounds inside."""
