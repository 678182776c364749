#include "desk/evaluate.hpp"

#include "base/file.hpp"
#include "report/output.hpp"
#include "report/performance_figure.hpp"

namespace gw::desk {

namespace {

Result<> draw(Evaluation const& evaluation, EvaluateRequest const& request) {
    GW_TRY(auto const format, report::format_of(*request.output, "--output"));
    GW_TRY(auto const map,
           assay::performance_map(evaluation.spec, evaluation.performance, request.axes));
    constexpr double width_mm = 170, height_mm = 150, edge = 10;
    report::Size const size{width_mm * report::points_per_mm, height_mm * report::points_per_mm};
    report::DocumentInfo const info{
        "Performance map", report::performance_map_description(evaluation.spec, map), Date{}};
    GW_TRY(auto const bytes, report::render(format, size, info, [&](report::Canvas& canvas) {
               canvas.fill(report::Box{0, 0, size.width, size.height}, {1, 1, 1});
               report::draw_performance_map(
                   canvas,
                   {edge, edge, size.width - 2 * edge, size.height - 2 * edge},
                   evaluation.spec,
                   map);
           }));
    return write_file(*request.output, bytes);
}

}  // namespace

Result<Evaluation> evaluate(EvaluateRequest const& request) {
    if (request.output) GW_CHECK(report::format_of(*request.output, "--output"));
    GW_TRY(auto const bytes, read_file(request.spec));
    GW_TRY(auto const document, parse_json(bytes, request.spec));
    Evaluation out;
    GW_TRY(out.spec, assay::read_performance_spec(document.root()));
    GW_TRY(out.performance, assay::evaluate_performance(out.spec));
    if (request.output) {
        GW_CHECK(draw(out, request));
        out.drawn = request.output;
    }
    return out;
}

}  // namespace gw::desk
