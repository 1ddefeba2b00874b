"""3D files for other programs: GLB, STL and 3MF, each written by a few plain lines of its own."""

from __future__ import annotations

from rigmodel.export.write import ExportFormat, export_model, model_bytes

__all__ = ["ExportFormat", "export_model", "model_bytes"]
