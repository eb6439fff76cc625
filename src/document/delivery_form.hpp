// What a delivery states, and what its buyer's contract adds: terms and prices.
#pragma once

#include "document/exchange_form.hpp"
#include "document/quotes_form.hpp"
#include "sale/statement.hpp"

namespace buttonworth {

struct DeliveredMasses {
  std::optional<ExchangedQuantity> wet_mass, moisture, gross, melted;
};

struct StatedDelivery {
  std::string id, buyer;
  std::optional<Day> arrived;
  DeliveredMasses delivered;
  std::vector<DeliveredAssay> assays;
  bool provisional = false;
  std::optional<PreviousStatement> previous;
};

struct StatedContract {
  Terms terms;
  std::vector<AnalyteQuantity> prices;
  std::vector<MetalQuotes> quotes;
  std::vector<MetalPeriod> periods;
};

Form<DeliveredMasses> delivered_masses_form(LimitOf limits);
Form<std::vector<DeliveredAssay>> delivered_assays_form(LimitOf limits);
Form<bool> stage_form();
/// An earlier statement of the same delivery; what it is a statement of is checked by check_previous.
Form<PreviousStatement> previous_form();

/// Complaints about a delivery that its terms do not fit: `value` is the object that holds its fields.
void check_delivery(const StatedDelivery& delivery, const Terms& terms, const Value& value,
                    const Place& place, Reader& reader);
/// The earlier statement is of the same currency and delivery.
void check_previous(const Value& value, const std::string& currency, const Place& place, Reader& reader);

/// Gives a delivery's figures to what is settled.
void take(StatedDelivery&& stated, Delivery& delivery);

/// The prices of one contract, fixed or averaged; each average is worked out once.
class Pricing {
 public:
  /// `place`: of the object that holds prices, quotes, period and terms. All three must outlive this.
  Pricing(const StatedContract& contract, const Place& place, Reader& reader);

  /// Complaints about the contract alone.
  void check() const;
  /// Gives the terms of a delivery that arrived on this day their prices; `own` prices go before the
  /// contract's. Nothing is priced where there are complaints.
  void price(const std::vector<AnalyteQuantity>& own, const std::optional<Day>& arrived, Delivery& delivery);

 private:
  struct Averaged {
    Analyte analyte;
    Period period;
    std::optional<PriceAverage> mean;
    std::vector<Caution> cautions;
  };

  const MetalQuotes* quotes_of(Analyte analyte) const;
  const MetalPeriod* period_of(Analyte analyte) const;
  std::optional<Period> days_of(const MetalPeriod& stated, const std::optional<Day>& arrived,
                                const Place& place) const;
  Averaged& averaged(const MetalQuotes& quotes, const Period& period);
  void average(const MetalQuotes& quotes, const std::optional<Day>& arrived, MarketPrices& prices,
               Delivery& delivery);
  Quantity as_quantity(const MetalQuotes& quotes, const Decimal& mean);

  const StatedContract& contract_;
  const Place& place_;
  Reader& reader_;
  std::vector<Averaged> averages_;
};

}  // namespace buttonworth
