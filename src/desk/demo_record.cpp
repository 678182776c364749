#include "desk/demo_record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "demo_record_files.hpp"
#include "desk/demo_settings.hpp"
#include "desk/demo_timeline.hpp"
#include "desk/thing.hpp"
#include "trace/trace.hpp"

namespace gw::desk {

namespace {

Result<std::string> embedded(std::string_view name) {
    for (auto const& file : generated::demo_record_files)
        if (file.path == name) return std::string(file.text);
    return fail(Errc::not_found, fmt::format("The file {} is not in this program.", name));
}

Result<Instant> instant(Field const& field, char const* key) {
    GW_TRY(auto const text, field.text(key));
    return parse_instant(text, field.where() + "." + key);
}

class Reader {
  public:
    Reader(Demo const& demo, DemoTimeline const& timeline) : demo_(demo), timeline_(timeline) {}

    Result<std::vector<DemoAdd>> read(Field const& root) {
        std::vector<DemoAdd> out;
        GW_TRY(auto const opened, root.at("opened"));
        GW_TRY(technician_, opened.text("by"));
        GW_TRY(auto const list, root.at("evidence"));
        GW_TRY(auto const items, list.items());
        for (auto const& item : items) {
            GW_TRY(auto head, head_of(item));
            if (auto const runs = item.find("runs")) {
                GW_CHECK(add_runs(*runs, head, out));
            } else {
                GW_TRY(head.at, instant(item, "at"));
                GW_CHECK(fill(item, head));
                out.push_back(std::move(head));
            }
        }
        return out;
    }

  private:
    Result<DemoAdd> head_of(Field const& item) const {
        DemoAdd out;
        GW_TRY(out.request.stage, item.text("stage"));
        GW_TRY(out.request.step, item.text("step"));
        GW_TRY(out.by, item.text_or("by", technician_));
        return out;
    }

    Result<> fill(Field const& item, DemoAdd& add) const {
        auto& request = add.request;
        for (auto const& [key, target] : {std::pair("value", &request.value),
                                          std::pair("unit", &request.unit),
                                          std::pair("note", &request.note),
                                          std::pair("override", &request.override_reason),
                                          std::pair("not_done", &request.not_done),
                                          std::pair("not_obtainable", &request.not_obtainable),
                                          std::pair("not_applicable", &request.not_applicable)})
            if (auto const field = item.find(key)) {
                GW_TRY(*target, field->text());
            }
        GW_TRY(request.u, item.optional_number("u"));
        GW_TRY(request.with, item.text_or("with", ""));
        if (item.find("file")) {
            GW_TRY(add.file_path, item.text("file"));
            GW_TRY(add.bytes, file(add.file_path));
        }
        return {};
    }

    // A file of the invented day by its name: shipped, or worked out by the program's own engines.
    Result<std::string> file(std::string const& name) const {
        for (auto const& [known, content] : demo_.scenario.files)
            if (known == name) return content;
        if (name == "leak_test.json") return embedded("demo/leak_test.json");
        if (name == "settings_before.csv") return demo_settings(demo_, "old");
        if (name == "settings_after.csv") return demo_settings(demo_, "new");
        if (name == "calibration_as_found.json")
            return to_text(assay::calibration_json(demo_.calibration_as_found));
        if (name == "calibration_as_left.json")
            return to_text(assay::calibration_json(demo_.calibration_as_left));
        if (name == "settling.csv") {
            for (auto const& stage : timeline_.stages)
                if (stage.name == "settle")
                    return demo_settling(demo_.scenario, stage.from, stage.to);
        }
        return fail(Errc::not_found, fmt::format("The demonstration has no file {}.", name));
    }

    Result<> add_runs(Field const& runs, DemoAdd const& head, std::vector<DemoAdd>& out) const {
        GW_TRY(auto const module, runs.text("module"));
        GW_TRY(auto const gas, runs.text("gas"));
        std::vector<DemoRun> wanted;
        for (auto const& run : timeline_.runs)
            if (run.module == module && run.gas == gas) wanted.push_back(run);
        auto const& s = demo_.scenario;
        auto const traces = parallel_map(wanted.size(), [&](std::size_t i) {
            auto trace = s.run(module, wanted[i].scenario_gas, wanted[i].number);
            trace.start = wanted[i].at;
            trace.header["analyser"] = s.analyser;
            if (!wanted[i].stream.empty()) trace.header["stream"] = wanted[i].stream;
            return trace::trace_csv(trace);
        });
        for (std::size_t i = 0; i < wanted.size(); ++i) {
            auto add = head;
            add.at = wanted[i].at;
            add.at.milliseconds += static_cast<std::int64_t>(1000 * s.method.cycle_s);
            add.run_path = wanted[i].id + ".csv";
            add.request.stream = wanted[i].stream;
            add.bytes = traces[i];
            out.push_back(std::move(add));
        }
        return {};
    }

    Demo const& demo_;
    DemoTimeline const& timeline_;
    std::string technician_;
};

Result<visit::Act> act_of(Field const& field) {
    visit::Act act;
    GW_TRY(act.who, field.text("by"));
    GW_TRY(act.now, instant(field, "at"));
    return act;
}

}  // namespace

Result<DemoRecord> DemoRecord::make() {
    DemoRecord out;
    GW_TRY(auto made, demo());
    GW_TRY(auto const timeline, demo_timeline(made.scenario));
    GW_TRY(auto const text, embedded("demo/visit_evidence.json"));
    GW_TRY(auto table, parse_json(text, "visit_evidence.json"));
    GW_CHECK(require_schema(table.root(), "demo_evidence"));
    GW_TRY(out.adds_, Reader(made, timeline).read(table.root()));
    out.demo_ = std::make_shared<Demo const>(std::move(made));
    out.table_ = std::make_shared<Document const>(std::move(table));
    return out;
}

Result<std::vector<DemoAdd>> DemoRecord::evidence(std::string const& step) const {
    std::vector<DemoAdd> out;
    for (auto const& add : adds_)
        if (visit::plain_name(add.request.step) == visit::plain_name(step)) out.push_back(add);
    if (out.empty())
        return fail(
            Errc::not_found,
            fmt::format("The demonstration recorded nothing for \"{}\".", step.substr(0, 60)),
            "step",
            "take a step of the plan exchange");
    return out;
}

Result<> DemoRecord::record_things(store::Store& store) const {
    auto const root = table_->root();
    GW_TRY(auto const opened, root.at("opened"));
    GW_TRY(auto const act, act_of(opened));
    GW_TRY(auto const list, root.at("things"));
    GW_TRY(auto const items, list.items());
    for (auto const& item : items) {
        ThingAdd thing;
        GW_TRY(thing.kind, item.text("kind"));
        GW_TRY(thing.id, item.text("id"));
        GW_TRY(auto const set, item.at("set"));
        for (auto const& [key, value] : set.raw().items())
            thing.set.push_back(fmt::format(
                "{}={}", key, value.is_string() ? value.get<std::string>() : value.dump()));
        GW_CHECK(add_thing(store, thing, act));
    }
    GW_TRY(auto const cylinders, root.at("cylinders"));
    GW_TRY(auto const names, cylinders.items());
    for (auto const& field : names) {
        GW_TRY(auto const name, field.text());
        for (auto const& [known, content] : demo_->scenario.files)
            if (known == name) GW_CHECK(add_cylinder_bytes(store, content, name, act));
    }
    return {};
}

Result<std::string> DemoRecord::open(store::Store& store) const {
    GW_CHECK(record_things(store));
    auto const root = table_->root();
    GW_TRY(auto const opened, root.at("opened"));
    GW_TRY(auto const opening, act_of(opened));
    VisitStart start;
    start.plan = "exchange";
    start.analyser = demo_->scenario.analyser;
    start.site = demo_->scenario.site;
    start.module = demo_->scenario.modules.at("new").serial;
    GW_TRY(start.title, root.text("title"));
    return start_visit(store, start, opening);
}

Result<DemoRecord::End> DemoRecord::end() const {
    auto const root = table_->root();
    GW_TRY(auto const end, root.at("end"));
    GW_TRY(auto const ending, act_of(end));
    End out;
    out.by = ending.who;
    out.at = ending.now;
    GW_TRY(out.request.as, end.text("as"));
    return out;
}

Result<std::string> DemoRecord::record(store::Store& store) const {
    GW_TRY(auto const id, open(store));
    for (auto const& add : adds_) GW_CHECK(add_to_visit(store, id, add, {add.by, add.at, {}}));
    GW_TRY(auto const ending, end());
    GW_CHECK(end_visit(store, id, ending.request, {ending.by, ending.at, {}}));
    return id;
}

Result<std::vector<DemoAdd>> demo_evidence(std::string const& step) {
    GW_TRY(auto const record, DemoRecord::make());
    return record.evidence(step);
}

Result<std::string> record_demo(store::Store& store) {
    GW_TRY(auto const record, DemoRecord::make());
    return record.record(store);
}

}  // namespace gw::desk
