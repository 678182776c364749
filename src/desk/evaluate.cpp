#include "desk/evaluate.hpp"

#include "base/file.hpp"

namespace gw::desk {

Result<Evaluation> evaluate(std::string const& path) {
    GW_TRY(auto const bytes, read_file(path));
    GW_TRY(auto const document, parse_json(bytes, path));
    Evaluation out;
    GW_TRY(out.spec, assay::read_performance_spec(document.root()));
    GW_TRY(out.performance, assay::evaluate_performance(out.spec));
    return out;
}

}  // namespace gw::desk
