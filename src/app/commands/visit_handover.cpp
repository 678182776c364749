#include "desk/visit_handover.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/passphrase.hpp"
#include "app/store_options.hpp"
#include "base/file.hpp"
#include "base/hash.hpp"
#include "desk/bundle.hpp"
#include "desk/demo_handover.hpp"
#include "desk/sign.hpp"

namespace gw::app {

namespace {

struct SignArgs : StoreArgs {
    std::string id, key, as;
    std::vector<std::string> reservations;
    PassphraseArgs passphrase;
};

Result<Answer> sign(SignArgs const& args, Context const& context) {
    auto const statement = visit::find_statement(args.as);
    if (!statement)
        return fail(Errc::bad_input,
                    "Nothing is signed under that name.",
                    "--as",
                    "choose work, conformity, witness or review");
    std::vector<std::string> warnings;
    GW_TRY(auto const store, opened_store(args, context, false));
    // What may not be signed is said before anybody types a passphrase.
    GW_TRY(auto const shown, desk::show_visit(*store, args.id, context.now()));
    GW_CHECK(visit::may_be_signed(*statement, "", "", shown.ledger, {}));
    GW_TRY(auto const key, opened_key(args.key, args.passphrase, warnings));
    GW_TRY(auto const done,
           desk::sign_visit(*store, args.id, {*statement, args.reservations}, key, context.now()));
    return Answer{desk::signed_json(done), desk::signed_text(done), warnings, true};
}

void add_sign(CLI::App& visit, Context& context) {
    auto args = std::make_shared<SignArgs>();
    auto* command = visit.add_subcommand(
        "sign", "Put a name under the record as it stands: work, conformity, witness or review");
    command->footer(
        "Example:  gaswright visit sign ID --key person.key --as work\nA signature covers the "
        "statement, every finding and open line of that moment, and the whole journal up to it.");
    command->add_option("id", args->id, "The visit")->required();
    command->add_option("--key", args->key, "Key file of the signer")->required();
    command
        ->add_option("--as",
                     args->as,
                     "work (complete and left safe), conformity (shown), witness or review")
        ->required();
    command->add_option(
        "--reservation", args->reservations, "What is reserved, in a sentence; may be repeated");
    add_passphrase_option(*command, args->passphrase);
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(sign(*args, context), args->json); });
}

// ---- report

struct ReportArgs : StoreArgs {
    std::string id, output, html, paper = "a4";
};

Result<Answer> report(ReportArgs const& args, Context const& context) {
    GW_TRY(auto const paper, desk::paper_of(args.paper));
    if (args.output.empty() && args.html.empty())
        return fail(Errc::bad_input,
                    "There is no file to write.",
                    "--output",
                    "give -o FILE.pdf, --html FILE.html, or both");
    if (!args.output.empty()) {
        GW_CHECK(desk::check_handover_file(args.output, "--output"));
    }
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_TRY(auto const shown, desk::show_visit(*store, args.id, context.now()));
    GW_TRY(auto const document,
           desk::visit_handover(*store, shown, std::string("gaswright ") + GW_VERSION));
    Answer answer{Json{{"visit", shown.state.visit}}, {}, shown.warnings, true};
    auto const write =
        [&](std::string const& file, char const* key, Result<std::string> bytes) -> Result<> {
        if (!bytes) return pass_on(bytes.error());
        GW_CHECK(write_file(file, *bytes));
        answer.json[key] = Json{{"file", file}, {"sha256", sha256(*bytes)}};
        answer.text += fmt::format("Handover written to {}.\n", file);
        return {};
    };
    if (!args.output.empty()) {
        GW_CHECK(write(args.output, "pdf", report::document_pdf(document, paper)));
    }
    if (!args.html.empty()) {
        GW_CHECK(write(args.html, "html", report::document_html(document)));
    }
    return answer;
}

void add_report(CLI::App& visit, Context& context) {
    auto args = std::make_shared<ReportArgs>();
    auto* command = visit.add_subcommand(
        "report", "The whole handover of a visit, as PDF and as a page for the screen");
    command->footer("Example:  gaswright visit report ID -o handover.pdf --html handover.html");
    command->add_option("id", args->id, "The visit")->required();
    command->add_option("-o,--output", args->output, "The PDF to write: FILE.pdf");
    command->add_option("--html", args->html, "The page to write; it needs nothing else");
    command->add_option("--paper", args->paper, "Paper of the PDF: a4 or letter")
        ->capture_default_str();
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(report(*args, context), args->json); });
}

// ---- export, verify, import

struct BundleArgs : StoreArgs {
    std::string id, output, key, paper = "a4", bundle, trust;
    PassphraseArgs passphrase;
};

Result<Answer> write_bundle(BundleArgs const& args, Context const& context) {
    GW_TRY(auto const paper, desk::paper_of(args.paper));
    std::vector<std::string> warnings;
    GW_TRY(auto const store, opened_store(args, context, false));
    std::optional<desk::SigningKey> key;
    if (args.key.empty()) {
        warnings.emplace_back(
            "The list of checksums is not signed: give --key to vouch for the bundle as a whole");
    } else {
        GW_TRY(key, opened_key(args.key, args.passphrase, warnings));
    }
    desk::ExportRequest request;
    request.visit = args.id;
    request.program = std::string("gaswright ") + GW_VERSION;
    request.key = key ? &*key : nullptr;
    request.letter = paper == report::Paper::letter;
    GW_TRY(auto const made, desk::export_visit(*store, request));
    GW_CHECK(write_file(args.output, made.bytes));
    return Answer{
        Json{{"visit", made.visit},
             {"file", args.output},
             {"sha256", sha256(made.bytes)},
             {"files", made.files},
             {"entries", made.entries},
             {"manifest_sha256", made.manifest_sha256},
             {"manifest_signed_by", made.signed_by.empty() ? Json(nullptr) : Json(made.signed_by)},
             {"journal", Json{{"entries", made.head.entries}, {"head", made.head.hash}}},
             {"warnings", warnings}},
        fmt::format("Visit {}: {} files, {} entries of the journal, written to {}.\n",
                    made.visit,
                    made.files,
                    made.entries,
                    args.output),
        warnings,
        true};
}

void add_export(CLI::App& visit, Context& context) {
    auto args = std::make_shared<BundleArgs>();
    auto* command = visit.add_subcommand(
        "export",
        "Everything a visit leaves behind in one zip, to be checked without this program");
    command->footer("Example:  gaswright visit export ID -o handover.zip --key person.key");
    command->add_option("id", args->id, "The visit")->required();
    command->add_option("-o,--output", args->output, "The bundle to write")->required();
    command->add_option("--key", args->key, "Key file of who vouches for the bundle as a whole");
    command->add_option("--paper", args->paper, "Paper of its PDF: a4 or letter")
        ->capture_default_str();
    add_passphrase_option(*command, args->passphrase);
    add_store_option(*command, *args);
    command->callback(
        [args, &context] { context.finish(write_bundle(*args, context), args->json); });
}

Result<desk::CheckedBundle> checked(BundleArgs const& args) {
    std::vector<desk::TrustedKey> trust;
    if (!args.trust.empty()) {
        GW_TRY(auto const text, read_file(args.trust));
        GW_TRY(trust, desk::read_trust(text, args.trust));
    }
    GW_TRY(auto const bytes, read_file(args.bundle));
    return desk::check_bundle(bytes, args.bundle, trust);
}

Result<Answer> verify(BundleArgs const& args) {
    GW_TRY(auto const bundle, checked(args));
    return Answer{desk::checked_bundle_json(bundle),
                  desk::checked_bundle_text(bundle, args.bundle),
                  {},
                  bundle.intact() && (args.trust.empty() || bundle.trusted)};
}

void add_verify(CLI::App& visit, Context& context) {
    auto args = std::make_shared<BundleArgs>();
    auto* command = visit.add_subcommand(
        "verify", "Is a bundle intact, and are its signatures by keys that are trusted?");
    command->footer(
        "Example:  gaswright visit verify handover.zip --trust keys.txt\nA file of trust holds the "
        "lines that gaswright key show prints. How to check a bundle without this program: "
        "README.txt inside it.");
    command->add_option("bundle", args->bundle, "The bundle")->required();
    command->add_option("--trust", args->trust, "File of trusted keys: FINGERPRINT  NAME a line");
    command->add_flag("--json", args->json, "The same as structured data");
    command->callback([args, &context] { context.finish(verify(*args), args->json); });
}

Result<Answer> bring_in(BundleArgs const& args, Context const& context) {
    GW_TRY(auto const act, act_of(args, context));
    GW_TRY(auto const bundle, checked(args));
    if (!bundle.intact())  // said before an absent store is made
        return fail(Errc::bad_input,
                    fmt::format("The bundle is not intact: {}: {}.",
                                bundle.first_bad->file,
                                bundle.first_bad->what),
                    args.bundle,
                    "ask for it anew; nothing was taken from it");
    GW_TRY(auto const store, opened_store(args, context, true));
    GW_TRY(auto const done, desk::import_bundle(*store, bundle, act));
    auto json = desk::imported_json(done);
    json["trusted"] = bundle.trusted;
    std::vector<std::string> warnings;
    for (auto const& why : bundle.untrusted) warnings.push_back("Not trusted: " + why);
    json["warnings"] = warnings;
    return Answer{std::move(json), desk::imported_text(done), warnings, true};
}

void add_import(CLI::App& visit, Context& context) {
    auto args = std::make_shared<BundleArgs>();
    auto* command = visit.add_subcommand(
        "import", "Add the record of a bundle to this one; what is there already is not doubled");
    command->footer("Example:  gaswright visit import handover.zip --trust keys.txt");
    command->add_option("bundle", args->bundle, "The bundle")->required();
    command->add_option("--trust", args->trust, "File of trusted keys: FINGERPRINT  NAME a line");
    add_record_options(*command, *args);
    command->callback([args, &context] { context.finish(bring_in(*args, context), args->json); });
}

}  // namespace

void add_visit_handover(CLI::App& visit, Context& context) {
    add_sign(visit, context);
    add_report(visit, context);
    add_export(visit, context);
    add_verify(visit, context);
    add_import(visit, context);
}

}  // namespace gw::app
