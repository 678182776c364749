// Certificates are bytes from outside. Whatever the bytes: what is accepted normalises to a gas
// with a covariance on the constraint, and is checked without trouble.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string_view>

#include "assay/cylinder_check.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "cylinder_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    static auto const custody = metrology::shipped_criteria("custody").value();
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const document = parse_json(text, "fuzz");
    if (!document) return 0;
    auto const cylinder = assay::read_cylinder(document->root());
    if (!cylinder) {
        require(!cylinder.error().what.empty() && !cylinder.error().where.empty(),
                "a refusal says what and where");
        return 0;
    }
    require(cylinder->printed.total() >= 0.9 && cylinder->printed.total() <= 1.1,
            "the total is that of a certificate");
    auto const gas = assay::certified_gas(*cylinder);
    require(std::abs(gas.total() - 1.0) < 1e-12, "the certified gas is normalised");
    double largest = 0.0, worst = 0.0;
    for (std::size_t i = 0; i < gas.V.size(); ++i) {
        double sum = 0.0;
        for (std::size_t j = 0; j < gas.V.size(); ++j) sum += gas.V(i, j);
        for (auto const& V : {cylinder->printed.V, gas.V}) largest = std::max(largest, V(i, i));
        worst = std::max(worst, std::abs(sum));
    }
    require(worst <= 1e-9 * largest, "rows of the covariance sum to zero");
    auto const check = assay::cylinder_check(*cylinder, custody, {Date{20000}, celsius(10)});
    if (!check) return 0;  // a gas that ISO 6976 cannot value
    require(check->findings.size() == 6, "six findings");
    for (auto const& finding : check->findings) {
        require(!finding.value || std::isfinite(*finding.value), "values are finite");
        if (finding.verdict == metrology::Verdict::missing)
            require(!finding.note.empty(), "what is missing is explained");
    }
    return 0;
}
