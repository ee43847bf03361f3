"""The drawing that ribbon, chart, film and page share: shapes as data, their measures, inks, marks and SVG."""
