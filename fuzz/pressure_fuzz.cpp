// The pressure of a cylinder is a file that somebody hands in beside a certificate. Whatever the
// bytes: what is accepted is a pressure that a gauge can show, and made anew from it the same.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string_view>

#include "desk/cylinder_pressure.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "pressure_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const read = desk::read_pressure_file(text, "fuzz");
    if (!read) {
        require(!read.error().what.empty(), "a refusal says what");
        return 0;
    }
    double const kpa = in_kilopascal(read->pressure);
    require(std::isfinite(kpa) && kpa >= 0 && kpa <= 1e5 + 110, "a pressure of a cylinder");
    require(!read->temperature || std::abs(in_celsius(*read->temperature)) <= 100.001,
            "a place where a cylinder stands");
    if (kpa > 1e5) return 0;  // the air on top of the highest gauge: not typed as absolute
    desk::TypedPressure typed;
    typed.value = kpa;
    typed.unit = "kPa";
    auto const again = desk::pressure_file(read->serial, typed, read->at);
    require(again.has_value(), "what was read can be written");
    auto const back = desk::read_pressure_file(to_text(*again), "again");
    require(back.has_value() && back->serial == read->serial, "and read again");
    require(std::abs(in_kilopascal(back->pressure) - kpa) <= 1e-9 * (1 + kpa), "and is the same");
    return 0;
}
