"""Tables, figures and pages from plain results; knows neither store nor statistics."""
