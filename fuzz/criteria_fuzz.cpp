// Criteria sets are bytes from outside. Whatever the bytes: what is accepted holds limits that can
// be judged, each with a source, and is read again as the same set.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string_view>

#include "metrology/metrology.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "criteria_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const document = parse_json(text, "fuzz");
    if (!document) return 0;
    auto const read = metrology::read_criteria(document->root());
    if (!read) {
        require(!read.error().what.empty() && !read.error().where.empty(),
                "a refusal says what and where");
        return 0;
    }
    for (auto const& entry : read->limits) {
        auto const& limit = entry.second;
        require(limit.low || limit.high, "a limit has a side");
        require(!limit.low || !limit.high || *limit.low <= *limit.high, "low is not above high");
        require(!limit.source.empty(), "a limit has a source");
        metrology::Finding finding;
        finding.value = limit.low ? *limit.low : *limit.high;
        finding.u = 0.0;
        metrology::judge(finding, &limit);
        require(finding.verdict == metrology::Verdict::meets, "the edge of a limit is inside");
    }
    if (read->limits.empty()) return 0;
    auto const again_document = parse_json(to_text(metrology::criteria_json(*read)), "again");
    require(again_document.has_value(), "what is written is JSON");
    auto const again = metrology::read_criteria(again_document->root());
    require(again.has_value(), "what is written is accepted");
    require(metrology::criteria_json(*again) == metrology::criteria_json(*read),
            "the same set comes back");
    return 0;
}
