// Files that somebody drops without saying what they are. Nothing of them is kept here.
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/file_kind.hpp"
#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

namespace {

Result<std::size_t> count(Request const& request, std::string const& name, std::size_t least) {
    auto const text = asked(request, name);
    auto const value = text ? parse_number(*text) : std::nullopt;
    if (!value || *value < static_cast<double>(least) || *value > 1e9 ||
        *value != static_cast<double>(static_cast<std::size_t>(*value)))
        return fail(Errc::bad_input, "A whole number is wanted here.", name, "give one");
    return static_cast<std::size_t>(*value);
}

Result<Json> convert(Request const& request) {
    desk::PickedColumns picked;
    picked.delimiter = asked(request, "delimiter").value_or("");
    picked.decimal_comma = asked(request, "mark").value_or("") == "comma";
    picked.time_unit = asked(request, "time_unit").value_or("s");
    picked.unit = asked(request, "unit").value_or("");
    GW_TRY(picked.first_row, count(request, "first_row", 1));
    GW_TRY(picked.time, count(request, "time", 0));
    for (auto const part : split(asked(request, "signals").value_or(""), ',')) {
        auto const value = parse_number(part);
        if (!value || *value < 0 || *value > 1000)
            return fail(Errc::bad_input, "Columns are counted from 0.", "signals", "give numbers");
        picked.signals.push_back(static_cast<std::size_t>(*value));
    }
    auto const name = asked(request, "name").value_or("file");
    GW_TRY(auto text, desk::picked_trace(request.content(), name, picked));
    return Json{{"name", name + ".run.csv"}, {"text", std::move(text)}};
}

}  // namespace

void add_files(Routes& routes, App const&) {
    routes.post("/api/v1/files/look",
                [](Request const& request) {
                    return json(desk::file_kind(request.content(),
                                                asked(request, "name").value_or("file")));
                },
                Effect::writes,
                {.longest_body = longest_file});
    routes.post("/api/v1/files/convert",
                [](Request const& request) { return answered(convert(request)); },
                Effect::writes,
                {.longest_body = longest_picked});
}

}  // namespace gw::serve
