// Inputs of the workshop sums are bytes from outside: what is accepted gives figures that are
// numbers, or is refused in words.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string_view>

#include "bench/sum.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const document = gw::parse_json(text, "fuzz");
    if (!document) return 0;
    auto const no_files = [](std::string const& name, std::string const& where) {
        return gw::Result<gw::gas::Composition>(
            gw::pass_on({gw::Errc::io, "no file " + name, where, ""}));
    };
    for (auto const& kind : gw::bench::sum_kinds()) {
        auto const in = gw::bench::read_sum_inputs(kind, document->root(), {}, no_files);
        if (!in) {
            require(!in.error().what.empty() && !in.error().where.empty());
            continue;
        }
        auto const sum = gw::bench::worked(kind, *in);
        if (!sum) {
            require(!sum.error().what.empty());
            continue;
        }
        for (auto const& r : sum->results) require(std::isfinite(r.si.value));
        require(gw::bench::sum_json(kind, *in, *sum, {}).has_value());
        require(gw::bench::sum_text(kind, *in, *sum, {}).has_value());
    }
    return 0;
}
