"""Reads DXF files with ezdxf alone, as a drafter would, and prints what can be rebuilt from them as JSON."""
import json
import math
import sys

import ezdxf
from ezdxf import recover
from ezdxf.lldxf.encoding import decode_dxf_unicode


def facts(entity):
    if not entity.has_xdata("ROOFDATUM"):
        return {}
    return dict(tag.value.split("=", 1) for tag in entity.get_xdata("ROOFDATUM") if tag.code == 1000)


def ring_area(points):
    x0, y0 = points[0][0], points[0][1]
    twice = 0.0
    for a, b in zip(points, points[1:] + points[:1]):
        twice += (a[0] - x0) * (b[1] - y0) - (b[0] - x0) * (a[1] - y0)
    return abs(twice) / 2


def outline(entity):
    if entity.dxftype() == "LWPOLYLINE":
        return [tuple(p) for p in entity.get_points("xy")], bool(entity.closed)
    return [(v.dxf.location.x, v.dxf.location.y) for v in entity.vertices], bool(entity.is_closed)


def face_area(face):
    p = [face.dxf.vtx0, face.dxf.vtx1, face.dxf.vtx2, face.dxf.vtx3]
    return ((p[1] - p[0]).cross(p[2] - p[0]).magnitude + (p[2] - p[0]).cross(p[3] - p[0]).magnitude) / 2


def read(path):
    doc = ezdxf.readfile(path)
    auditor = doc.audit()
    strict_doc, strict = recover.readfile(path)
    rings, surfaces, corners, tags, layers = [], {}, {}, [], {}
    texts, dimensions, lines = [], [], []
    for entity in doc.modelspace():
        layer = entity.dxf.layer
        layers[layer] = layers.get(layer, 0) + 1
        kind = entity.dxftype()
        if kind == "LWPOLYLINE" or (kind == "POLYLINE" and entity.is_2d_polyline):
            points, closed = outline(entity)
            rings.append({"layer": layer, "closed": closed, "area": ring_area(points), "first": points[0], **facts(entity)})
        elif kind == "3DFACE":
            key = layer + " " + facts(entity).get("id", "")
            surfaces[key] = surfaces.get(key, 0) + face_area(entity)
            for i in range(4):
                corners.setdefault(key, []).append(tuple(entity.dxf.get("vtx%d" % i)))
        elif kind == "INSERT":
            tags.append({a.dxf.tag: decode_dxf_unicode(a.dxf.text) for a in entity.attribs})
        elif kind == "TEXT":
            texts.append(decode_dxf_unicode(entity.dxf.text))
        elif kind == "DIMENSION":
            dimensions.append({"text": entity.dxf.text, "measured": (entity.dxf.defpoint3 - entity.dxf.defpoint2).magnitude, **facts(entity)})
        elif kind == "LINE" and layer.startswith("EDGE-"):
            lines.append({"layer": layer, "length": (entity.dxf.end - entity.dxf.start).magnitude, **facts(entity)})
    return {
        "version": doc.dxfversion,
        "errors": [str(e.message) for e in auditor.errors] + [str(e.message) for e in strict.errors],
        "fixes": [str(e.message) for e in auditor.fixes] + [str(e.message) for e in strict.fixes],
        "unit": doc.header.get("$INSUNITS", None),
        "layers": layers,
        "rings": rings,
        "surfaces": surfaces,
        "corners": corners,
        "tags": tags,
        "texts": texts,
        "dimensions": dimensions,
        "lines": lines,
    }


print(json.dumps([read(path) for path in sys.argv[1:]]))
