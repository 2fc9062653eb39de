"""Write what others will read: tables, figures, pages."""
