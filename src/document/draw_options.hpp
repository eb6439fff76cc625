// What the requests that draw a plan have in common: how many draws, from where, and what goes together.
#pragma once

#include <optional>

#include "chance/drawing.hpp"
#include "document/heading_form.hpp"

namespace buttonworth {

/// As they stand in a document: pointers are not yet looked up.
struct DrawOptionsDraft {
  struct Correlated {
    std::vector<std::string> of;
    Quantity r;
  };
  struct Averaged {
    std::string of;
    std::int64_t fixings = 1;
  };
  std::optional<std::int64_t> draws, seed;
  std::optional<DrawMethod> method;
  std::vector<Correlated> correlated;
  std::vector<std::vector<std::string>> same;
  std::vector<Averaged> averaged;
};

/// Adds the fields to a form whose draft derives from DrawOptionsDraft.
template <class T>
Fields<T>& with_draw_fields(Fields<T>& fields);

/// Looks the pointers up among the plan's inputs; what is wrong is told to the reader with its place.
class DrawOptionsReader {
 public:
  DrawOptionsReader(const Plan& plan, Reader& reader);

  DrawNumbers numbers(const DrawOptionsDraft& draft) const;
  DrawTogether together(const DrawOptionsDraft& draft) const;
  /// What moves together by these lists of pointers, certain quantities too: those at the same place below
  /// all pointers of a list.
  std::vector<std::vector<Quantity>> moving_together(const std::vector<std::vector<std::string>>& same) const;
  /// The input at this pointer; nothing, and told, where there is none.
  std::optional<Quantity> input(const std::string& pointer, const Place& place) const;

 private:
  void take_same(const DrawOptionsDraft& draft, DrawTogether& together) const;
  void take_correlated(const DrawOptionsDraft& draft, DrawTogether& together) const;
  void take_averaged(const DrawOptionsDraft& draft, DrawTogether& together) const;
  void require_possible(const std::vector<Correlation>& pairs, const Place& place) const;
  std::vector<std::vector<Quantity>> same_lists(const std::vector<std::string>& pointers,
                                                const Place& place) const;
  using ByPlace = std::vector<std::pair<std::string, Quantity>>;
  static ByPlace below(const std::string& pointer, const ByPlace& quantities);
  std::vector<std::vector<Quantity>> certain_lists(const std::vector<std::string>& pointers) const;
  void require_alike(const std::vector<Quantity>& list, const Place& place) const;
  void require_once(const std::vector<std::vector<Quantity>>& lists, std::vector<bool>& had,
                    const Place& place) const;

  const Plan& plan_;
  Reader& reader_;
  ByPlace inputs_, certain_;
};

/// Lists of pointers to what is one thing.
Form<std::vector<std::vector<std::string>>> same_form();

Form<DrawOptionsDraft::Correlated> correlated_form();
Form<DrawOptionsDraft::Averaged> averaged_form();
Form<DrawMethod> method_form();

template <class T>
Fields<T>& with_draw_fields(Fields<T>& fields) {
  return fields.may("draws", &T::draws, whole_number_form(256, std::int64_t{1} << 26))
      .may("seed", &T::seed, whole_number_form(0, std::int64_t{1} << 53))
      .may("method", &T::method, method_form())
      .may("correlate", &T::correlated, list_of(correlated_form()))
      .may("same", &T::same, same_form())
      .may("averaged", &T::averaged, list_of(averaged_form()));
}

/// The places of the options' complaints are those of the options.
void move_complaints(Reader& reader, std::vector<Complaint>& complaints);

}  // namespace buttonworth
