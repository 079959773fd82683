// Plane extraction by the CGAL library (Shape Detection 5.5, Debian 12), as a yardstick on the same points.
// Usage: rival-planes POINTS.bin growing|ransac NOISE SPACING
// POINTS.bin: float64 x y z. Prints one line "seconds S", then one line "plane a b c d points" for each plane.
#include <CGAL/Simple_cartesian.h>
#include <CGAL/Point_set_3.h>
#include <CGAL/Shape_detection/Efficient_RANSAC.h>
#include <CGAL/Shape_detection/Region_growing/Region_growing.h>
#include <CGAL/Shape_detection/Region_growing/Region_growing_on_point_set/K_neighbor_query.h>
#include <CGAL/Shape_detection/Region_growing/Region_growing_on_point_set/Least_squares_plane_fit_region.h>
#include <CGAL/linear_least_squares_fitting_3.h>
#include <CGAL/pca_estimate_normals.h>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <utility>
#include <vector>

using Kernel = CGAL::Simple_cartesian<double>;
using Point = Kernel::Point_3;
using Vector = Kernel::Vector_3;
using Oriented = std::pair<Point, Vector>;
using Points = std::vector<Oriented>;
using PointMap = CGAL::First_of_pair_property_map<Oriented>;
using NormalMap = CGAL::Second_of_pair_property_map<Oriented>;

namespace detection = CGAL::Shape_detection;

static Points read(const char* path) {
  Points points;
  FILE* file = std::fopen(path, "rb");
  if (!file) std::exit(2);
  double row[3];
  while (std::fread(row, sizeof(double), 3, file) == 3) points.emplace_back(Point(row[0], row[1], row[2]), Vector(0, 0, 1));
  std::fclose(file);
  return points;
}

// Both rivals get the benefit of a least-squares fit to the points they chose.
static void print(const Points& points, const std::vector<std::size_t>& members) {
  std::vector<Point> chosen;
  for (std::size_t index : members) chosen.push_back(points[index].first);
  Kernel::Plane_3 plane;
  CGAL::linear_least_squares_fitting_3(chosen.begin(), chosen.end(), plane, CGAL::Dimension_tag<0>());
  const double length = std::sqrt(plane.a() * plane.a() + plane.b() * plane.b() + plane.c() * plane.c()) * (plane.c() < 0 ? -1 : 1);
  std::printf("plane %.9g %.9g %.9g %.9g %zu\n", plane.a() / length, plane.b() / length, plane.c() / length, plane.d() / length, members.size());
}

int main(int count, char** words) {
  if (count != 5) return 2;
  Points points = read(words[1]);
  const std::string method = words[2];
  const double noise = std::atof(words[3]), spacing = std::atof(words[4]);
  const std::size_t least = static_cast<std::size_t>(1.0 / (spacing * spacing));
  const auto start = std::chrono::steady_clock::now();
  CGAL::pca_estimate_normals<CGAL::Sequential_tag>(points, 16, CGAL::parameters::point_map(PointMap()).normal_map(NormalMap()));
  std::vector<std::vector<std::size_t>> found;
  if (method == "growing") {
    using Query = detection::Point_set::K_neighbor_query<Kernel, Points, PointMap>;
    using Region = detection::Point_set::Least_squares_plane_fit_region<Kernel, Points, PointMap, NormalMap>;
    Query query(points, 12);
    Region region(points, 3 * noise, 20, least);
    detection::Region_growing<Points, Query, Region> growing(points, query, region);
    growing.detect(std::back_inserter(found));
  } else {
    using Traits = detection::Efficient_RANSAC_traits<Kernel, Points, PointMap, NormalMap>;
    detection::Efficient_RANSAC<Traits> ransac;
    ransac.set_input(points);
    ransac.add_shape_factory<detection::Plane<Traits>>();
    detection::Efficient_RANSAC<Traits>::Parameters parameters;
    parameters.probability = 0.01;
    parameters.min_points = least;
    parameters.epsilon = 3 * noise;
    parameters.cluster_epsilon = 4 * spacing;
    parameters.normal_threshold = 0.9;
    ransac.detect(parameters);
    for (const auto& shape : ransac.shapes()) found.push_back(shape->indices_of_assigned_points());
  }
  const std::chrono::duration<double> seconds = std::chrono::steady_clock::now() - start;
  std::printf("seconds %.3f\n", seconds.count());
  for (const auto& members : found) print(points, members);
  return 0;
}
