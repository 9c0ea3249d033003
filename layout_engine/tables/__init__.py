"""Values of the trade with their sources, and the formulas that belong to them.

A module a subject: fasteners, materials, bending, radio, access, paper, conductors, ampacity,
fuses, batteries, contacts, motion. Nothing here knows a job.
"""
