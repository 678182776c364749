#include "desk/key.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/passphrase.hpp"
#include "base/file.hpp"

namespace gw::app {

namespace {

struct KeyArgs {
    std::string file, name, pem;
    PassphraseArgs passphrase;
    bool none = false, json = false;
};

Result<Answer> told(desk::KeyFile const& key, std::string const& path, std::string const& before) {
    auto const print = desk::fingerprint(key.public_key);
    return Answer{Json{{"file", path},
                       {"name", key.name},
                       {"created", key.created},
                       {"fingerprint", print},
                       {"public_key", desk::pem_of(key.public_key)},
                       {"passphrase", key.has_passphrase},
                       {"trust", print + "  " + key.name}},
                  fmt::format("{}Key of {}, made {}{}\n\nFingerprint, and the line for a file of "
                              "trust:\n{}  {}\n\nPublic key:\n{}",
                              before,
                              key.name,
                              key.created,
                              key.has_passphrase ? "" : ", WITHOUT a passphrase",
                              print,
                              key.name,
                              desk::pem_of(key.public_key)),
                  {},
                  true};
}

Result<Answer> make(KeyArgs const& args, Context const& context) {
    desk::Secret secret;
    if (!args.none) {
        GW_TRY(secret, passphrase(args.passphrase, "Passphrase for the new key: ", true));
        if (secret.empty())
            return fail(Errc::bad_input,
                        "The passphrase is empty: whoever finds the file could sign with it.",
                        "passphrase",
                        "take a long one, or ask plainly for none with --no-passphrase");
    }
    GW_TRY(auto const text, desk::new_key(args.name, secret, context.now()));
    GW_CHECK(desk::write_key_file(args.file, text));
    GW_TRY(auto const key, desk::read_key(text, args.file));
    return told(key,
                args.file,
                fmt::format("Written to {}, for its owner alone. Keep a copy where nobody else "
                            "can reach it.\n",
                            args.file));
}

Result<Answer> show(KeyArgs const& args) {
    GW_TRY(auto const text, read_file(args.file));
    GW_TRY(auto const key, desk::read_key(text, args.file));
    if (!args.pem.empty()) {
        GW_CHECK(write_file(args.pem, desk::pem_of(key.public_key)));
    }
    auto answer = told(key, args.file, "");
    if (auto warning = desk::key_file_warning(args.file); answer && !warning.empty())
        answer->warnings.push_back(std::move(warning));
    return answer;
}

}  // namespace

void add_key(CLI::App& program, Context& context) {
    auto* key = program.add_subcommand("key", "Keys that people sign with: make one, show one");
    key->require_subcommand(1);
    key->footer("Example:  gaswright key new person.key --name \"A. Person\"");

    auto args = std::make_shared<KeyArgs>();
    auto* command = key->add_subcommand(
        "new", "A new Ed25519 key in a file of its own, which only its owner may read");
    command->footer(
        "Example:  gaswright key new person.key --name \"A. Person\"\nThe passphrase is asked for; "
        "scripts give --passphrase-file or the variable GASWRIGHT_PASSPHRASE.");
    command->add_option("file", args->file, "The new key file")->required();
    command->add_option("--name", args->name, "Whose key it is, as in the record")->required();
    command->add_flag("--no-passphrase", args->none, "Make a file that opens without one");
    add_passphrase_option(*command, args->passphrase);
    command->add_flag("--json", args->json, "The same as structured data");
    command->callback([args, &context] { context.finish(make(*args, context), args->json); });

    args = std::make_shared<KeyArgs>();
    command = key->add_subcommand(
        "show", "Whose key it is, its fingerprint and its public half; needs no passphrase");
    command->footer("Example:  gaswright key show person.key --pem person.pem");
    command->add_option("file", args->file, "The key file")->required();
    command->add_option("--pem", args->pem, "Also write the public half into this file");
    command->add_flag("--json", args->json, "The same as structured data");
    command->callback([args, &context] { context.finish(show(*args), args->json); });
}

}  // namespace gw::app
