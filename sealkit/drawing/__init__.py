"""Pictures that need neither a widget nor a chart library: SVG made by hand."""
