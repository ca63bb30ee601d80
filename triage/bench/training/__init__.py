"""Train the shipped model files from registry weights and folders of labelled photos.

Only the trainer needs this folder and its libraries (``pip install odonata-triage[training]``);
``triage.analysis`` runs what it made with onnxruntime alone.
"""
