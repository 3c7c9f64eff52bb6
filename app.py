"""Entry of the page: ``streamlit run app.py``."""

from planner.page.site import run

run()
