"""Registry weights and a folder of labelled photos in, the shipped model files out.

Only the trainer needs this folder and its libraries (``pip install odonata-triage[training]``);
``triage.analysis`` runs what it made with onnxruntime alone.
"""
