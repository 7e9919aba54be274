"""Drawings of a wheel with its weights, as SVG: the face seen from outboard, the half cross-section, the sheet.

``subject`` says what is drawn, ``pen`` how; ``face`` and ``section`` are the two views, ``page`` lays them out.
All lengths on paper are in mm; one user unit of the SVG is one mm.
"""
