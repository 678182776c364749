#include "report/markup.hpp"

namespace gw::report {

std::string markup(std::string_view text) {
    std::string out;
    for (char const c : text) {
        if (c == '&')
            out += "&amp;";
        else if (c == '<')
            out += "&lt;";
        else if (c == '>')
            out += "&gt;";
        else if (c == '"')
            out += "&quot;";
        else if (static_cast<unsigned char>(c) >= 0x20 || c == '\n')
            out += c;
    }
    return out;
}

}  // namespace gw::report
