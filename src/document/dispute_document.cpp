#include "document/dispute_document.hpp"

#include <algorithm>
#include <array>

#include "document/delivery_document.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/json_text.hpp"
#include "document/schema_parts.hpp"
#include "quantity/stated_text.hpp"

namespace buttonworth {
namespace {

constexpr const char* dispute_format = "buttonworth-dispute/1";
constexpr const char* contest_format = "buttonworth-contest/1";

struct Request : Dispute {
  std::string format, analyte;
  std::optional<Delivery> delivery;
};

Form<AssayError> error_form() {
  return Fields<AssayError>()
      .may("sd", &AssayError::sd, quantity(Dimension::grade, Allowed::positive))
      .may("rsd", &AssayError::rsd, quantity(Dimension::share, Allowed::positive))
      .one_of({"sd", "rsd"})
      .form("an object with sd or rsd, as in {\"rsd\": \"1.5 %\"}");
}

Form<AssayErrors> errors_form() {
  return Fields<AssayErrors>()
      .need("seller", &AssayErrors::seller, error_form())
      .need("buyer", &AssayErrors::buyer, error_form())
      .need("umpire", &AssayErrors::umpire, error_form())
      .form("an object with seller, buyer and umpire");
}

void require_whole(const Decimal& count, const char* name, const Place& place, Reader& reader) {
  if (count != floor(count))
    reader.complain(Code::range, Place(place, name),
                    to_text(count) + " is no whole number: nobody weighs in a part of one");
}

Form<SampleWanted> sample_form() {
  return Fields<SampleWanted>()
      .need("portion", &SampleWanted::portion, quantity(Dimension::mass, Allowed::positive))
      .may("determinations", &SampleWanted::determinations, plain_number(Allowed::at_least_one), "3")
      .may("sets", &SampleWanted::sets, plain_number(Allowed::at_least_one), "2")
      .check([](const Value&, const Place& place, Reader& reader, SampleWanted& out) {
        require_whole(out.determinations, "determinations", place, reader);
        require_whole(out.sets, "sets", place, reader);
      })
      .form("an object with portion");
}

// ---- What only the delivery can tell ---------------------------------------------------------

/// A dispute is about a figure of the seller's that an exchange may leave to an umpire.
void check_exchange(const ExchangedQuantity& found, const Place& place, Reader& reader) {
  auto want = [&](bool there, const char* what) {
    if (!there) reader.complain(Code::missing_field, place, std::string("to contest it, ") + what);
  };
  want(!found.alone, "the assay must be an exchange: {\"seller\": …, \"limit\": …, \"rule\": …}");
  if (found.alone) return;
  want(!found.seller.empty(), "the seller's figure is wanted");
  want(found.limit || found.limit_relative, "the contract's limit is wanted, as limit or limit_relative");
  want(found.rule.has_value(), "the contract's rule is wanted, \"umpire\", \"middle\" or \"nearer\"");
  if (!found.umpire.empty())
    reader.complain(Code::conflict, Place(place, "umpire"),
                    "the umpire has reported already: settle the delivery, there is nothing left to choose");
}

void check_assay(const Place& place, Reader& reader, Request& out) {
  std::vector<std::string> assayed;
  for (const DeliveredAssay& one : out.delivery->assays) {
    const std::string& name = assayed.emplace_back(reader.analytes[one.analyte]);
    if (name != out.analyte) continue;
    out.of = one.analyte;
    const Place delivery(place, "delivery"), assays(delivery, "assays");
    return check_exchange(one.found, Place(assays, name), reader);
  }
  reader.complain(Code::name, Place(place, "of"),
                  "the delivery has no assay of " + out.analyte + nearest_text(out.analyte, assayed));
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(dispute_format))
          .need("delivery", &Request::delivery, whole_delivery())
          .need("of", &Request::analyte, text_form())
          .need("errors", &Request::errors, errors_form())
          .may("bias", &Request::bias, quantity(Dimension::share, Allowed::any))
          .may("offer", &Request::offer, quantity(Dimension::grade, Allowed::share))
          .need("umpire_cost", &Request::umpire_cost, quantity(Dimension::money))
          .may("sample", &Request::sample, sample_form())
          .check([](const Value& value, const Place& place, Reader& reader, Request& out) {
            if (out.bias && reader.quantities[*out.bias].mean <= -1)
              reader.complain(
                  Code::range, Place(place, "bias"),
                  "a buyer who finds nothing at all is no matter of bias: it must be above -100 %");
            if (out.delivery && value.find("of") != nullptr && reader.complaints.empty())
              check_assay(place, reader, out);
          })
          .form("an object: a delivery and the dispute about an assay");
  return form;
}

// ---- The answer ------------------------------------------------------------------------------

constexpr std::array stages{"before the exchange", "before the umpire", "within the limit"};
constexpr std::array verdicts{"contest", "accept", "too close to call"};

class ContestText {
 public:
  ContestText(const Delivery& delivery, const Contest& contest)
      : contest_(contest), like_(delivery.quantities[contest.like]) {}

  std::string run(const std::string& currency, const std::string& analyte) {
    out_.open('{').field("format", contest_format).field("currency", currency).field("of", analyte);
    out_.field("stage", word(stages, contest_.stage)).key("best_estimate").open('{');
    out_.field("value", grade(contest_.best)).field("sd", grade(contest_.best_sd)).close('}');
    outlook("accepted", contest_.accepted).close('}');
    outlook("contested", contest_.contested).field("umpire_called", percent(contest_.umpire_called));
    out_.field("umpire_paid", money(contest_.umpire_paid)).close('}');
    out_.field("gain", money(contest_.gain)).field("low", money(contest_.low));
    out_.field("high", money(contest_.high)).field("chance", percent(contest_.chance));
    out_.field("verdict", word(verdicts, contest_.verdict));
    if (contest_.keep) keep(*contest_.keep);
    out_.close('}');
    return out_.take();
  }

 private:
  // What is sampled has no more digits to tell.
  static constexpr Digits figure_digits{12, 12, 0}, sum_digits{40, 6, 2};

  static std::string money(const Decimal& amount) { return to_text(amount, sum_digits); }
  static std::string percent(const Decimal& share) { return Figures<Decimal>::percent_text(share); }
  std::string grade(const Decimal& share) const { return text_in_unit(like_, share, figure_digits); }
  JsonText& outlook(const char* name, const Outlook& outlook) {
    out_.key(name).open('{').field("settled", grade(outlook.settled));
    return out_.field("proceeds", money(outlook.proceeds));
  }
  void keep(const KeptSample& keep) {
    out_.key("keep")
        .open('{')
        .field("umpire", mass(keep.umpire))
        .field("sample", mass(keep.sample))
        .close('}');
  }
  static std::string mass(const Decimal& kilograms) {
    return to_text(Decimal(kilograms * 1000), figure_digits) + " g";
  }

  const Contest& contest_;
  const StatedQuantity& like_;
  JsonText out_;
};

}  // namespace

DisputeReading read_dispute(const Value& document, const DocumentLimits& limits) {
  Reader reader(limits);
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {nullptr, {}, std::move(reader.complaints)};
  auto delivery = with_tables(std::move(*request.delivery), std::move(reader));
  return {std::move(delivery), std::move(request), {}};
}

std::string contest_text(const Delivery& delivery, const Dispute& dispute, const Contest& contest) {
  return ContestText(delivery, contest).run(delivery.currency, delivery.analytes[dispute.of]);
}

Json dispute_schema() { return whole_schema("A dispute for Buttonworth, format 1", request_form().schema); }

Json contest_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, number = text_with(""), share = text_with(" %"),
                                       gram = text_with(" g");
  const Json accepted{{"settled", text}, {"proceeds", number}};
  Json contested = accepted;
  contested.update(Json{{"umpire_called", share}, {"umpire_paid", number}});
  return whole_schema("What contesting an assay is worth by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", contest_format}}},
                      {"currency", schema_parts::currency()},
                      {"of", text},
                      {"stage", {{"enum", stages}}},
                      {"best_estimate", object_of({{"value", text}, {"sd", text}})},
                      {"accepted", object_of(accepted)},
                      {"contested", object_of(contested)},
                      {"gain", number},
                      {"low", number},
                      {"high", number},
                      {"chance", share},
                      {"verdict", {{"enum", verdicts}}},
                      {"keep", object_of({{"umpire", gram}, {"sample", gram}})}},
                     {"keep"});
  });
}

}  // namespace buttonworth
