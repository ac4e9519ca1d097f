#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "gives.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double steps_per_mm = 10.0;
constexpr std::uint32_t magic = 0x31574b53;  // "SKW1"
constexpr std::uint32_t most_samples = 1u << 20;

void put(std::string& bytes, std::uint64_t value, int count) {
  for (int i = 0; i < count; ++i) bytes += static_cast<char>((value >> (8 * i)) & 0xffU);
}

/// Takes numbers from bytes, the lowest first, and never reads beyond them.
class Taker {
 public:
  explicit Taker(std::string_view bytes) : bytes_(bytes) {}
  std::uint64_t take(std::size_t size) {
    const char* at = claim(size);
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < size; ++i)
      value |= static_cast<std::uint64_t>(static_cast<unsigned char>(at[i])) << (8 * i);
    return value;
  }
  template <typename T>
  std::vector<T> take_all(std::size_t count) {
    if (count > bytes_.size() / sizeof(T)) claim(bytes_.size() + 1);
    std::vector<T> numbers(count);
    std::memcpy(numbers.data(), claim(count * sizeof(T)), count * sizeof(T));
    if constexpr (std::endian::native == std::endian::big)
      for (T& number : numbers) {
        auto* bytes = reinterpret_cast<unsigned char*>(&number);
        std::reverse(bytes, bytes + sizeof(T));
      }
    return numbers;
  }
  bool done() const { return bytes_.empty(); }

 private:
  const char* claim(std::size_t size) {
    if (bytes_.size() < size) throw std::runtime_error("the sketch breaks off");
    const char* at = bytes_.data();
    bytes_.remove_prefix(size);
    return at;
  }
  std::string_view bytes_;
};

/// Lengths that are never negative, to a tenth of a millimetre; what is larger stops at 6.5 m.
void put_lengths(std::string& bytes, const std::vector<float>& lengths) {
  for (const float mm : lengths) {
    const double steps = std::clamp(std::round(double{mm} * steps_per_mm), 0.0, 65535.0);
    put(bytes, static_cast<std::uint64_t>(steps), 2);
  }
}

void put_places(std::string& bytes, const std::vector<float>& places) {
  for (const float mm : places) {
    const double steps = std::clamp(std::round(double{mm} * steps_per_mm), -1e9, 1e9);
    put(bytes, static_cast<std::uint32_t>(static_cast<std::int32_t>(steps)), 4);
  }
}

template <typename Steps>
std::vector<float> in_mm(const std::vector<Steps>& steps) {
  std::vector<float> lengths(steps.size());
  for (std::size_t i = 0; i < steps.size(); ++i)
    lengths[i] = static_cast<float>(static_cast<double>(steps[i]) / steps_per_mm);
  return lengths;
}

/// All that stands before the radii.
Sketch take_axis(Taker& from) {
  if (from.take(4) != magic) throw std::runtime_error("the sketch is of another kind");
  const std::uint64_t stations = from.take(4), angles = from.take(4);
  if (stations < 2 || angles < 3 || stations > most_samples || angles > most_samples ||
      stations * angles > most_samples)
    throw std::runtime_error("the sketch has an impossible size");
  Sketch sketch;
  sketch.stations = static_cast<int>(stations);
  sketch.angles = static_cast<int>(angles);
  sketch.length = std::bit_cast<double>(from.take(8));
  if (!(sketch.length > 0.0) || !std::isfinite(sketch.length))
    throw std::runtime_error("the sketch has an impossible length");
  sketch.axis_y = in_mm(from.take_all<std::int32_t>(stations));
  sketch.axis_z = in_mm(from.take_all<std::int32_t>(stations));
  sketch.bark = in_mm(from.take_all<std::uint16_t>(stations));
  return sketch;
}

/// The radii or the sigmas as they were written.
std::vector<std::uint16_t> take_samples(Taker& from, const Sketch& sketch) {
  return from.take_all<std::uint16_t>(sketch.bark.size() * static_cast<std::size_t>(sketch.angles));
}

void check_end(const Taker& from) {
  if (!from.done()) throw std::runtime_error("the sketch is too long");
}

}  // namespace

Sketch sketch_of(const LogShape& shape, int stations, int angles) {
  Sketch sketch{shape.length(), stations, angles, {}, {}, {}, {}, {}};
  for (int i = 0; i < stations; ++i) {
    const double x = shape.length() * i / (stations - 1);
    const auto [at, share] = locate(shape, x);
    const auto next = std::min(at + 1, shape.stations.size() - 1);
    const auto between = [s = share](double a, double b) {
      return static_cast<float>(a + s * (b - a));
    };
    const Eigen::Vector2d centre = axis_at(shape, x);
    sketch.axis_y.push_back(static_cast<float>(centre.x()));
    sketch.axis_z.push_back(static_cast<float>(centre.y()));
    sketch.bark.push_back(between(bark_at(shape, at), bark_at(shape, next)));
    for (int j = 0; j < angles; ++j) {
      const auto sample = static_cast<std::size_t>(static_cast<long>(j) * shape.angles / angles);
      sketch.radius.push_back(between(shape.radius[at][sample], shape.radius[next][sample]));
      sketch.sigma.push_back(between(shape.sigma[at][sample], shape.sigma[next][sample]));
    }
  }
  return sketch;
}

std::string sketch_bytes(const Sketch& sketch) {
  std::string bytes;
  put(bytes, magic, 4);
  put(bytes, static_cast<std::uint64_t>(sketch.stations), 4);
  put(bytes, static_cast<std::uint64_t>(sketch.angles), 4);
  put(bytes, std::bit_cast<std::uint64_t>(sketch.length), 8);
  put_places(bytes, sketch.axis_y);
  put_places(bytes, sketch.axis_z);
  put_lengths(bytes, sketch.bark);
  put_lengths(bytes, sketch.radius);
  put_lengths(bytes, sketch.sigma);
  return bytes;
}

Sketch sketch_from_bytes(std::string_view bytes) {
  Taker from(bytes);
  Sketch sketch = take_axis(from);
  sketch.radius = in_mm(take_samples(from, sketch));
  sketch.sigma = in_mm(take_samples(from, sketch));
  check_end(from);
  return sketch;
}

Girths girths_from_bytes(std::string_view bytes) {
  Taker from(bytes);
  Girths girths{take_axis(from), {}, {}};
  const auto radius = take_samples(from, girths.axis), sigma = take_samples(from, girths.axis);
  check_end(from);
  const auto angles = static_cast<std::size_t>(girths.axis.angles);
  for (std::size_t i = 0; i < girths.axis.bark.size(); ++i) {
    int least = std::numeric_limits<int>::max(), most = std::numeric_limits<int>::min();
    for (std::size_t k = i * angles; k < (i + 1) * angles; ++k) {
      least = std::min(least, int{radius[k]} - int{sigma[k]});
      most = std::max(most, int{radius[k]} - int{sigma[k]});
    }
    const auto wood = [&](int steps) {
      return static_cast<float>(steps / steps_per_mm) - girths.axis.bark[i];
    };
    girths.least.push_back(wood(least));
    girths.most.push_back(wood(most));
  }
  return girths;
}

double widest(const Sketch& sketch) {
  double most = 0;
  std::vector<Eigen::Vector2d> outline(static_cast<std::size_t>(sketch.angles));
  for (std::size_t i = 0; i < sketch.bark.size(); ++i) {
    for (std::size_t j = 0; j < outline.size(); ++j) {
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / sketch.angles;
      const double radius = sketch.radius[i * outline.size() + j] - sketch.bark[i];
      outline[j] = radius * Eigen::Vector2d(std::cos(angle), std::sin(angle));
    }
    for (std::size_t a = 0; a < outline.size(); ++a)
      for (std::size_t b = a + 1; b < outline.size(); ++b)
        most = std::max(most, (outline[a] - outline[b]).norm());
  }
  return most;
}

}  // namespace kerfwright
