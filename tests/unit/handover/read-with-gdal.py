"""Opens files with GDAL and prints every feature, reprojected to a wanted projection, as JSON: FILE… EPSG."""
import json
import os
import sys

from osgeo import gdal, ogr, osr

gdal.UseExceptions()
gdal.SetConfigOption("DXF_CLOSED_LINE_AS_POLYGON", "TRUE")
gdal.PushErrorHandler("CPLQuietErrorHandler")
wanted = osr.SpatialReference()
wanted.ImportFromEPSG(int(sys.argv[-1]))
wanted.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)


def points(geometry):
    if geometry.GetGeometryCount() > 0:
        return [points(geometry.GetGeometryRef(i)) for i in range(geometry.GetGeometryCount())]
    return [geometry.GetPoint(i) for i in range(geometry.GetPointCount())]


def read(path):
    layers = {}
    source = ogr.Open(path)
    for layer in source:
        reference = layer.GetSpatialRef()
        transform = None
        if reference is not None:
            reference.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
            transform = osr.CoordinateTransformation(reference, wanted)
        features = []
        for feature in layer:
            geometry = feature.GetGeometryRef()
            entry = {"fields": json.loads(feature.ExportToJson())["properties"], "type": None}
            if geometry is not None:
                entry["type"] = geometry.GetGeometryName()
                entry["valid"] = geometry.IsValid()
                if transform is not None:
                    geometry = geometry.Clone()
                    geometry.Transform(transform)
                entry["points"] = points(geometry)
                entry["area"] = geometry.GetArea() if geometry.GetGeometryName() == "POLYGON" else None
            features.append(entry)
        layers[layer.GetName()] = {
            "epsg": None if reference is None else reference.GetAuthorityCode(None),
            "features": features,
        }
    return layers


def complaints(path):
    """GDAL ships a checker of the GeoPackage standard."""
    from osgeo_utils.samples import validate_gpkg

    return [str(error) for error in validate_gpkg.check(path, abort_at_first_error=False)]


print(json.dumps({os.path.basename(p): {"layers": read(p), "complaints": complaints(p) if p.endswith(".gpkg") else []} for p in sys.argv[1:-1]}))
