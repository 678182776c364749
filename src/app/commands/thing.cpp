#include "desk/thing.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/store_options.hpp"
#include "desk/load.hpp"

namespace gw::app {

namespace {

struct ThingArgs : StoreArgs {
    desk::ThingAdd what;
    std::string on;
    std::int64_t within_days = 60;
};

Result<Answer> line_answer(Result<visit::ThingLine> const& line) {
    if (!line) return pass_on(line.error());
    return Answer{Json{{"kind", line->kind},
                       {"id", line->id},
                       {"entry", line->last},
                       {"due", line->due.empty() ? Json(nullptr) : Json(line->due)}},
                  fmt::format("{} {} is recorded (entry {}).\n", line->kind, line->id, line->last),
                  {},
                  true};
}

Result<Answer> add(ThingArgs const& args, Context const& context) {
    GW_TRY([[maybe_unused]] auto const subject, visit::thing_subject(args.what.kind, args.what.id));
    GW_TRY(auto const act, act_of(args, context));
    GW_TRY(auto const store, opened_store(args, context, true));
    return line_answer(desk::add_thing(*store, args.what, act));
}

Result<Answer> show(ThingArgs const& args, Context const& context) {
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_TRY(auto const shown, desk::show_thing(*store, args.what.kind, args.what.id));
    return Answer{desk::thing_json(shown), desk::thing_text(shown), {}, true};
}

Result<Answer> list(ThingArgs const& args, Context const& context) {
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_TRY(auto const things, store->things(args.what.kind));
    return Answer{desk::things_json(things), desk::things_text(things), {}, true};
}

Result<Answer> due(ThingArgs const& args, Context const& context) {
    auto on = context.today();
    if (!args.on.empty()) {
        GW_TRY(on, parse_date(args.on, "--on"));
    }
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_TRY(auto const items, desk::due(*store, on, args.within_days));
    bool const past = std::any_of(
        items.begin(), items.end(), [](auto const& item) { return item.days_left < 0; });
    return Answer{desk::due_json(items), desk::due_text(items, args.within_days), {}, !past};
}

}  // namespace

void add_thing(CLI::App& program, Context& context) {
    auto* thing = program.add_subcommand(
        "thing",
        "Sites, analysers, modules, instruments, ring lots, people: what is known of them");
    thing->require_subcommand(1);
    thing->footer("Example:  gaswright thing add instrument G-17 --set calibration_due=2026-09-01");

    auto args = std::make_shared<ThingArgs>();
    auto* command = thing->add_subcommand("add", "Record a thing, or more about one");
    command->footer(
        "Example:  gaswright thing add analyser PX-1 --set 'needs={\"streams\": 2, \"carrier\": "
        "\"helium\"}'\n"
        "Kinds: site, analyser, module, cylinder, instrument, rings, person. Days: expires, "
        "calibration_due, use_by,\n"
        "competence_until, proving_due, evaluation_due, service_due, storage_until. retired=true: "
        "nothing falls due any more.");
    command->add_option("kind", args->what.kind, "What it is")->required();
    command->add_option("id", args->what.id, "Its tag, serial or name")->required();
    command->add_option("--set", args->what.set, "NAME=VALUE; an empty value takes the field away");
    command->add_option("--file", args->what.file, "A JSON file of fields, kept (a passport)");
    add_record_options(*command, *args);
    command->callback([args, &context] { context.finish(add(*args, context), args->json); });

    args = std::make_shared<ThingArgs>();
    command = thing->add_subcommand("show", "One thing with its history");
    command->footer("Example:  gaswright thing show analyser PX-1");
    command->add_option("kind", args->what.kind, "What it is")->required();
    command->add_option("id", args->what.id, "Its tag, serial or name")->required();
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(show(*args, context), args->json); });

    args = std::make_shared<ThingArgs>();
    command = thing->add_subcommand("list", "All things, or those of a kind");
    command->footer("Example:  gaswright thing list instrument");
    command->add_option("kind", args->what.kind, "Of this kind only");
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(list(*args, context), args->json); });

    args = std::make_shared<ThingArgs>();
    command = program.add_subcommand(
        "due", "What falls due: certificates, calibrations, provings, ends of fallback");
    command->footer(
        "Example:  gaswright due --within 30\nExit code 1 when something is past its day.");
    command->add_option("--within", args->within_days, "Days from --on")->capture_default_str();
    command->add_option("--on", args->on, "Day to look from (default: today)");
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(due(*args, context), args->json); });
}

void add_cylinder_record(CLI::App& cylinder, Context& context) {
    struct CylinderArgs : StoreArgs {
        std::string path;
        desk::PressureReading reading;
    };
    auto args = std::make_shared<CylinderArgs>();
    auto* command =
        cylinder.add_subcommand("add", "Take a cylinder and its certificate into the record");
    command->footer("Example:  gaswright cylinder add cylinder.json");
    command->add_option("cylinder", args->path, "Cylinder file, or - for standard input")
        ->required();
    add_record_options(*command, *args);
    command->callback([args, &context] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const act, act_of(*args, context));
            GW_TRY([[maybe_unused]] auto const readable,
                   args->path == "-" ? Result<assay::Cylinder>(assay::Cylinder{})
                                     : desk::load_cylinder(args->path));
            GW_TRY(auto const store, opened_store(*args, context, true));
            return line_answer(desk::add_cylinder(*store, args->path, act));
        };
        context.finish(done(), args->json);
    });

    args = std::make_shared<CylinderArgs>();
    command = cylinder.add_subcommand("read", "Record the pressure of a cylinder");
    command->footer(
        "Example:  gaswright cylinder read HM-7714 --pressure-kpa 3900 --ambient-c 4 --with G-17");
    command->add_option("serial", args->reading.serial, "Its serial")->required();
    command->add_option("--pressure-kpa", args->reading.pressure_kpa, "Pressure, kPa absolute")
        ->required();
    command->add_option(
        "--ambient-c", args->reading.ambient_c, "Temperature where it stands, degC");
    command->add_option("--with", args->reading.with, "Serial of the gauge");
    add_record_options(*command, *args);
    command->callback([args, &context] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const act, act_of(*args, context));
            GW_TRY(auto const store, opened_store(*args, context, false));
            return line_answer(desk::read_cylinder_pressure(*store, args->reading, act));
        };
        context.finish(done(), args->json);
    });

    args = std::make_shared<CylinderArgs>();
    command = cylinder.add_subcommand("show", "One cylinder: certificate, pressure history");
    command->footer("Example:  gaswright cylinder show HM-7714");
    command->add_option("serial", args->reading.serial, "Its serial")->required();
    add_store_option(*command, *args);
    command->callback([args, &context] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const store, opened_store(*args, context, false));
            GW_TRY(auto const shown, desk::show_thing(*store, "cylinder", args->reading.serial));
            return Answer{desk::thing_json(shown), desk::thing_text(shown), {}, true};
        };
        context.finish(done(), args->json);
    });

    args = std::make_shared<CylinderArgs>();
    command = cylinder.add_subcommand("list", "The cylinders of the record");
    command->footer("Example:  gaswright cylinder list");
    add_store_option(*command, *args);
    command->callback([args, &context] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const store, opened_store(*args, context, false));
            GW_TRY(auto const things, store->things("cylinder"));
            return Answer{desk::things_json(things), desk::things_text(things), {}, true};
        };
        context.finish(done(), args->json);
    });
}

}  // namespace gw::app
