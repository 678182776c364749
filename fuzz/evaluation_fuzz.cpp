// Evaluations are bytes from outside: what is accepted can be evaluated or is refused in words, and
// its figures are finite.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "assay/performance.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const document = gw::parse_json(text, "fuzz");
    if (!document) return 0;
    auto spec = gw::assay::read_performance_spec(document->root());
    if (!spec) {
        require(!spec.error().what.empty() && !spec.error().where.empty());
        return 0;
    }
    spec->compositions = 50;  // what is sought is in the functions, not in the numbers
    auto const out = gw::assay::evaluate_performance(*spec, 1);
    if (!out) {
        require(!out.error().what.empty());
        return 0;
    }
    for (auto const& each : out->components)
        require(std::isfinite(each.mean) && std::isfinite(each.largest) && std::isfinite(each.u));
    for (auto const& each : out->properties)
        if (each.share_inside) require(*each.share_inside >= 0 && *each.share_inside <= 1);
    return 0;
}
