"""A wheel with its weights as SVG: the face seen from outboard, the half cross-section, the sheet; its run-out.

``subject`` says what is drawn, ``pen`` how; ``face`` and ``section`` are the two views, ``page`` lays them out;
``run_out`` has a page of its own. All lengths on paper are in mm; one user unit of the SVG is one mm.
"""
