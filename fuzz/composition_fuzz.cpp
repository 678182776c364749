// Composition files are bytes from outside. Whatever the bytes: what is accepted has components
// that differ, finite amounts that are not negative, a covariance, and is read again as the same
// gas.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <set>
#include <string_view>

#include "gas/gas.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "composition_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const document = parse_json(text, "fuzz");
    if (!document) return 0;
    auto const read = gas::read_composition(document->root());
    if (!read) {
        require(!read.error().what.empty() && !read.error().where.empty(),
                "a refusal says what and where");
        return 0;
    }
    require(!read->components.empty() && read->x.size() == read->components.size(),
            "one amount a component");
    require(std::set<gas::Component>(read->components.begin(), read->components.end()).size() ==
                read->x.size(),
            "components differ");
    for (double const x : read->x)
        require(std::isfinite(x) && x >= 0, "amounts are finite and not negative");
    require(read->V.empty() || read->V.size() == read->x.size(), "V is of the size of x");
    require(is_covariance(read->V), "V is a covariance");

    auto const again_document = parse_json(to_text(gas::composition_json(*read)), "again");
    require(again_document.has_value(), "what is written is JSON");
    auto const again = gas::read_composition(again_document->root());
    require(again.has_value(), "what is written is accepted");
    require(again->components == read->components && again->x == read->x,
            "the same amounts come back");
    require(std::equal(read->V.cells().begin(),
                       read->V.cells().end(),
                       again->V.cells().begin(),
                       again->V.cells().end()),
            "the same covariance comes back");
    require(again->characterisation.parts.size() == read->characterisation.parts.size(),
            "the same split comes back");

    // The sums must answer or refuse, never give a figure that is none.
    auto const checked = gas::with_checked_total(*read, {.normalise = true}, "fuzz");
    if (!checked) return 0;
    auto const values =
        gas::iso6976(gas::expanded(checked->first, gas::default_characterisation()));
    if (!values) return 0;
    for (auto const& row : gas::quantity_rows()) {
        auto const& quantity = values->real.*row.quantity;
        require(std::isfinite(quantity.value) && std::isfinite(quantity.u) && quantity.u >= 0,
                "finite properties");
    }
    return 0;
}
