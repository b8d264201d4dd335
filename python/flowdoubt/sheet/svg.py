"""A drawing as SVG, one unit of the drawing a millimetre."""

from __future__ import annotations

from xml.etree import ElementTree

from flowdoubt.sheet.drawing import Drawing, Line, Polygon, Ring, Shape, Words

_FONT = "DejaVu Sans, Verdana, Arial, sans-serif"


def _number(value: float) -> str:
    # a micrometre is enough for paper
    return f"{round(value, 3) + 0.0:g}" if abs(value) < 1e3 else f"{value:.3f}"


def _grey(value: float) -> str:
    level = round(255 * value)
    return f"#{level:02x}{level:02x}{level:02x}"


def _element(parent: ElementTree.Element, shape: Shape) -> None:
    match shape:
        case Line():
            ends = {key: _number(getattr(shape, key)) for key in ("x1", "y1", "x2", "y2")}
            made = ElementTree.SubElement(parent, "line", ends)
            made.set("stroke", _grey(shape.grey))
            made.set("stroke-width", _number(shape.width))
            if shape.dashes:
                made.set("stroke-dasharray", " ".join(map(_number, shape.dashes)))
        case Ring():
            place = {"cx": _number(shape.x), "cy": _number(shape.y), "r": _number(shape.radius)}
            made = ElementTree.SubElement(parent, "circle", place)
            made.set("fill", "none")
            made.set("stroke", _grey(shape.grey))
            made.set("stroke-width", _number(shape.width))
        case Polygon():
            points = " ".join(f"{_number(x)},{_number(y)}" for x, y in shape.points)
            made = ElementTree.SubElement(parent, "polygon", {"points": points})
            made.set("fill", _grey(shape.fill))
            if shape.width:
                made.set("stroke", "#000000")
                made.set("stroke-width", _number(shape.width))
        case Words():
            x, y = _number(shape.x), _number(shape.y)
            made = ElementTree.SubElement(parent, "text", {"x": x, "y": y})
            made.text = shape.text
            made.set("font-size", _number(shape.size))
            made.set("fill", _grey(shape.grey))
            if shape.anchor != "start":
                made.set("text-anchor", shape.anchor)
            if shape.bold:
                made.set("font-weight", "bold")
            if shape.turned:
                made.set("transform", f"rotate(-90 {x} {y})")
    if shape.name:
        made.set("id", shape.name)


def svg_of(drawing: Drawing, title: str) -> str:
    """Return the text of an SVG file that prints at 1:1."""
    box = drawing.box
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{_number(box.width)}mm",
            "height": f"{_number(box.height)}mm",
            "viewBox": " ".join(map(_number, (box.x1, box.y1, box.width, box.height))),
            "font-family": _FONT,
        },
    )
    ElementTree.SubElement(root, "title").text = title
    for shape in drawing.shapes:
        _element(root, shape)
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"
